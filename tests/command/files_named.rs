//! Names that are nearly right, patterns that are none, and the list of files.

use crate::files::{fails, passed};
use crate::support::{Folder, RIGHT};

const ORDER: &str = "an order file's name ends in `.gtt`, in small letters and with nothing after it: \
                     rename it, or name it in `exclude`";
const HOUSE: &str = "the settings' name is `gutta.toml`, in small letters and with nothing after it: \
                     nothing in this file applies until it is renamed";

#[test]
fn a_name_that_is_nearly_right_is_told() {
    let folder = Folder::with_order(RIGHT);
    for (name, why) in [
        ("a.GTT", ORDER),
        ("b.gtt ", ORDER),
        ("c.gtt.txt", ORDER),
        ("deep/Gutta.toml", HOUSE),
        ("gutta.toml ", HOUSE),
    ] {
        folder.write(name, b"ordr a\n");
        let told = format!("gutta: {name} is passed over: {why}\n");
        for words in [
            &["check"][..],
            &["derive"],
            &["export", "--fhir", "r5"],
            &["sheet", "--site", "site"],
        ] {
            fails(&folder.run(words), &told);
        }
        let _ = std::fs::remove_dir_all(folder.path("site"));
        let wanted = (name.to_owned(), why.to_owned(), true);
        assert!(passed(&folder).contains(&wanted), "{:?}", passed(&folder));
        let counted = "No errors or warnings in 2 files (6 stanzas); 1 passed over";
        assert_eq!(folder.run(&["check"]).last_line(), counted);
        std::fs::remove_file(folder.path(name)).unwrap();
    }
    // Who leaves it out has said so; a copy that a program keeps is no order.
    folder.write("a.GTT", b"");
    folder.write("gutta.toml", b"exclude = [\"*.GTT\"]\n");
    folder.write("order.gtt.bak", b"");
    folder.write("order.gtt~", b"");
    assert_eq!(folder.run(&["check"]).code, Some(0));
}

#[test]
fn a_pattern_that_cannot_be_read_is_a_fault_of_the_settings() {
    let folder = Folder::with_order(RIGHT);
    for (pattern, why) in [
        (
            "[",
            "the pattern `[` cannot be read: unclosed character class",
        ),
        ("drafts/[a-", "the pattern `drafts/[a-` cannot be read: "),
        ("", "`` matches nothing: it is empty, or a comment"),
        (
            "# old",
            "`# old` matches nothing: it is empty, or a comment",
        ),
    ] {
        folder.write(
            "gutta.toml",
            format!("exclude = [\"{pattern}\"]\n").as_bytes(),
        );
        for words in [&["check"][..], &["fmt", "--check"], &["derive"]] {
            let ran = folder.run(words);
            assert_eq!(ran.code, Some(2), "{pattern}: {ran:?}");
            let told = format!("gutta: gutta.toml: exclude: {why}");
            assert!(ran.err.contains(&told), "{pattern}: {ran:?}");
        }
    }
    folder.write("gutta.toml", b"exclude = [\"drafts/[ab]*\", \"\\\\[x\"]\n");
    assert_eq!(folder.run(&["check"]).code, Some(0));
}

#[test]
fn every_command_that_looks_for_files_lists_them() {
    let folder = Folder::with_order(RIGHT);
    folder.write("notes.txt", b"");
    folder.write("bytes.gtt", b"\0");
    folder.write("bad.gtt", b"order a \"\xff\"\n");
    let listed = folder.run(&["check", "--show-files"]);
    insta::assert_snapshot!(listed.told(), @r"
    exit code 1
    Read:
      bad.gtt
      order.gtt
      reference.gtt
    Could not be read:
      bytes.gtt: it is not text
    Not read:
      notes.txt: does not end in .gtt
    ");
    for command in ["derive", "sheet", "export", "fmt"] {
        let ran = folder.run(&[command, "--show-files"]);
        assert_eq!((ran.code, &ran.out), (Some(1), &listed.out), "{command}");
        let ran = folder.run(&[command, "--show-files", "order.gtt"]);
        assert_eq!(ran.out, "Read:\n  order.gtt\n", "{command}");
    }
    let json = folder
        .run(&["derive", "--show-files", "--format", "json"])
        .json();
    assert_eq!(json["not_readable"][0]["path"], "bytes.gtt");
    assert_eq!(json["not_readable"][0]["fault"], true);
    for (words, other) in [
        (&["check", "--show-files", "--fix"][..], "--fix"),
        (&["fmt", "--show-files", "--check"], "--check"),
        (&["sheet", "--show-files", "--site", "site"], "--site"),
        (&["export", "--show-files", "-o", "a"], "--output"),
    ] {
        let why = format!("--show-files only lists files, and cannot be used with {other}");
        folder.run(words).refused(&why);
    }
}

/// A reader that has had enough says nothing of what was found.
#[cfg(unix)]
#[test]
fn the_exit_code_is_the_same_whoever_reads() {
    let folder = Folder::with_order(&RIGHT.replace("0.06", "6"));
    for words in [
        &["check"][..],
        &["check", "--format", "json"],
        &["compare", "old"],
    ] {
        folder.write("old/gutta.toml", b"");
        folder.write("old/order.gtt", RIGHT.as_bytes());
        folder.write("old/reference.gtt", &folder.read("reference.gtt"));
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let status = folder.command(words).stdout(writer).status().unwrap();
        assert_eq!(status.code(), Some(1), "{words:?}");
    }
}

/// In plain words, whatever the system calls it.
#[test]
fn a_file_in_the_place_of_a_folder_is_told() {
    let folder = Folder::with_order(RIGHT);
    let through = "part of its path is a file, not a folder";
    for words in [
        &["init", "order.gtt"][..],
        &["sheet", "--site", "order.gtt"],
    ] {
        let ran = folder.run(words);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert!(ran.err.contains(through), "{ran:?}");
        assert!(!ran.err.contains("os error"), "{ran:?}");
    }
    let ran = folder.run(&["check", "order.gtt/deep"]);
    assert!(!ran.err.contains("os error"), "{ran:?}");
}
