//! Files that are not there, not readable, not text, or far too large.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

use crate::support::{Folder, RIGHT, Ran};

fn check_one(bytes: &[u8]) -> Ran {
    let folder = Folder::with_order(RIGHT);
    folder.write("odd.gtt", bytes);
    folder.run(&["check", "odd.gtt"])
}

/// What was found, each with its line and column.
fn found(ran: &Ran) -> Vec<String> {
    let findings = ran.json()["findings"].as_array().unwrap().clone();
    let told = findings.iter().map(|finding| {
        let at = &finding["start"];
        format!(
            "{} at {}:{}",
            finding["rule"].as_str().unwrap(),
            at["line"],
            at["column"]
        )
    });
    told.collect()
}

fn found_in(bytes: &[u8]) -> Vec<String> {
    let folder = Folder::with_order(RIGHT);
    folder.write("odd.gtt", bytes);
    found(&folder.run(&["check", "--format", "json", "odd.gtt"]))
}

#[test]
fn what_is_not_there_is_said() {
    let folder = Folder::with_order(RIGHT);
    let gone = "cannot read gone.gtt: there is no such file or folder";
    for command in ["check", "fmt", "derive"] {
        folder.run(&[command, "gone.gtt"]).refused(gone);
    }
    let empty = Folder::new(&[("empty/notes.txt", "")]);
    empty
        .run(&["check", "empty"])
        .refused("there is no .gtt file in empty");
    assert_eq!(folder.run(&["check", "../x.gtt"]).code, Some(2));
}

#[test]
fn an_empty_file_is_right() {
    let ran = check_one(b"");
    assert_eq!(
        (ran.code, ran.last_line()),
        (Some(0), "No errors or warnings in 1 file (0 stanzas)")
    );
}

#[test]
fn what_is_no_text_is_a_finding() {
    let ran = check_one(b"\x7fELF\0\0\0\0");
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.out.starts_with("error[text.unreadable]: "),
        "{}",
        ran.out
    );
}

#[test]
fn a_file_too_large_is_a_finding() {
    let folder = Folder::with_order(RIGHT);
    let file = File::create(folder.path("huge.gtt")).unwrap();
    file.set_len(100 * 1024 * 1024).unwrap();
    let ran = folder.run(&["check", "huge.gtt"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("104857600 bytes"), "{}", ran.out);
    assert_eq!(folder.run(&["fmt", "huge.gtt"]).code, Some(2));
}

#[test]
fn one_line_of_50_megabytes_is_cut_to_the_terminal() {
    let mut line = b"order a \"A\"\n  note ".to_vec();
    line.resize(50_000_000, b'x');
    let ran = check_one(&line);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("odd.gtt:2:8"), "{}", ran.out);
    assert!(
        ran.out.lines().all(|line| line.chars().count() <= 80),
        "{}",
        ran.out
    );
}

#[test]
fn broken_utf8_is_a_finding_where_it_stands() {
    let found = found_in(b"# \xc3\xa9\xff\xfe\n");
    assert_eq!(found, ["text.unreadable at 1:4"]);
}

#[test]
fn a_lone_cr_ends_a_line() {
    let found = found_in(b"pump a \"A\"\r  flow       1 to 9mL/h\r  high-alert\r");
    assert_eq!(found, ["text.no-space at 2:19", "text.unreadable at 3:3"]);
}

#[test]
fn a_byte_order_mark_takes_no_column() {
    let found = found_in("\u{feff}pmp a \"A\"\r\n".as_bytes());
    assert_eq!(found, ["text.unreadable at 1:1"]);
}

#[test]
fn a_number_of_400_digits_is_no_value() {
    let digits = "7".repeat(400);
    let text = format!("pump a \"A\"\n  flow       1 to {digits} mL/h\n");
    assert_eq!(found_in(text.as_bytes()), ["text.no-value at 2:19"]);
    let ran = check_one(text.as_bytes());
    assert!(
        ran.out.lines().all(|line| line.chars().count() <= 80),
        "{}",
        ran.out
    );
}

#[test]
fn wide_and_combining_characters_keep_their_marks_in_place() {
    let text = "drug \u{6f22} \"\u{6f22}\u{5b57}\"\n\tusual dose 5mg to 6 mg/h e\u{301}\n\
                \x20 note       \"\u{6f22}\u{5b57}\" x\n";
    insta::assert_snapshot!(check_one(text.as_bytes()).told());
}

#[test]
fn what_an_order_holds_does_not_steer_the_terminal() {
    let ran = check_one(b"order a \"A\x1b[31m\x07\"\n  rn \x1b]0;x\x07 5 mL\n");
    assert_eq!(ran.code, Some(1));
    assert!(!ran.out.contains(['\u{1b}', '\u{7}']), "{:?}", ran.out);
}

#[test]
fn circles_of_files_end() {
    let folder = Folder::new(&[
        ("a.gtt", "use \"b.gtt\"\n"),
        ("b.gtt", "use \"a.gtt\"\nuse \"b.gtt\"\n"),
    ]);
    assert_eq!(folder.run(&["check", "a.gtt"]).code, Some(0));
}

#[test]
fn a_use_does_not_leave_the_workspace() {
    let folder = Folder::new(&[
        ("outside.gtt", "drug x \"X\"\n"),
        ("ws/gutta.toml", ""),
        ("ws/a.gtt", "use \"../outside.gtt\"\n"),
    ]);
    let ran = folder.run(&["check", "--format", "json", "ws/a.gtt"]);
    assert_eq!(found(&ran), ["name.use-outside at 1:5"]);
}

#[cfg(unix)]
mod unix {
    use std::fs::{Permissions, copy, set_permissions};
    use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
    use std::os::unix::process::CommandExt;
    use std::process::Command;

    use super::{BufRead, BufReader, Folder, RIGHT, Stdio, found};

    /// The command by someone for whom permissions count: root reads all.
    fn without_rights(folder: &Folder, words: &[&str]) -> (Option<i32>, String) {
        let binary = folder.path("gutta");
        copy(env!("CARGO_BIN_EXE_gutta"), &binary).unwrap();
        set_permissions(&binary, Permissions::from_mode(0o755)).unwrap();
        let mut command = Command::new(&binary);
        command.current_dir(folder.path("")).args(words);
        if std::fs::metadata("/proc/self").is_ok_and(|me| me.uid() == 0) {
            command.uid(65_534).gid(65_534);
        }
        let output = command.output().unwrap();
        (
            output.status.code(),
            String::from_utf8(output.stderr).unwrap(),
        )
    }

    #[test]
    fn a_folder_or_file_without_rights_is_said() {
        let folder = Folder::with_order(RIGHT);
        folder.write("shut/a.gtt", RIGHT.as_bytes());
        set_permissions(folder.path(""), Permissions::from_mode(0o755)).unwrap();
        let missing = "the permission is missing";
        let told = [
            (
                "order.gtt",
                format!("gutta: order.gtt could not be read: {missing}\n"),
            ),
            (
                "shut",
                format!("gutta: shut is passed over: cannot be read: {missing}\n"),
            ),
        ];
        for (name, told) in told {
            set_permissions(folder.path(name), Permissions::from_mode(0o000)).unwrap();
            let (code, err) = without_rights(&folder, &["derive"]);
            assert_eq!((code, err), (Some(1), told));
            let (code, _) = without_rights(&folder, &["check"]);
            assert_eq!(code, Some(1));
            let (code, err) = without_rights(&folder, &["check", name]);
            assert_eq!(code, Some(2), "{err}");
            assert!(err.contains(missing), "{err}");
            set_permissions(folder.path(name), Permissions::from_mode(0o755)).unwrap();
        }
    }

    #[test]
    fn a_file_that_may_not_be_written_stays_as_it_is() {
        let folder = Folder::with_order(&RIGHT.replace("4 mg made", "4mg made"));
        let before = folder.read("order.gtt");
        set_permissions(folder.path("order.gtt"), Permissions::from_mode(0o444)).unwrap();
        let ran = folder.run(&["check", "--fix"]);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert_eq!(folder.read("order.gtt"), before);
        let left: Vec<_> = std::fs::read_dir(folder.path("")).unwrap().collect();
        assert_eq!(left.len(), 3, "{left:?}");
    }

    #[test]
    fn a_link_stays_a_link_when_its_file_is_corrected() {
        let folder = Folder::with_order(RIGHT);
        folder.write(
            "real.gtt",
            RIGHT.replace("4 mg made", "4mg made").as_bytes(),
        );
        std::fs::remove_file(folder.path("order.gtt")).unwrap();
        symlink("real.gtt", folder.path("order.gtt")).unwrap();
        folder.run(&["check", "--fix", "order.gtt"]);
        assert!(folder.path("order.gtt").is_symlink());
        assert_eq!(folder.read("real.gtt"), RIGHT.as_bytes());
    }

    #[test]
    fn a_link_out_of_the_workspace_is_not_followed() {
        let folder = Folder::new(&[
            ("outside.gtt", "drug x \"X\"\n"),
            ("ws/gutta.toml", ""),
            ("ws/a.gtt", "use \"link.gtt\"\n"),
        ]);
        symlink("../outside.gtt", folder.path("ws/link.gtt")).unwrap();
        let ran = folder.run(&["check", "--format", "json", "ws/a.gtt"]);
        assert_eq!(found(&ran), ["name.use-outside at 1:5"]);
    }

    #[test]
    fn a_closed_pipe_ends_quietly() {
        let folder = Folder::new(&[]);
        for words in [&["rules"][..], &["explain", "limit.never"], &["man"]] {
            let mut child = folder
                .command(words)
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .unwrap();
            drop(child.stdout.take());
            let output = child.wait_with_output().unwrap();
            assert_eq!(output.status.code(), Some(0), "{words:?}");
            assert_eq!(output.stderr, b"", "{words:?}");
        }
    }

    #[test]
    fn a_reader_that_has_enough_may_leave() {
        let folder = Folder::with_order(&"order a\n".repeat(20_000));
        let mut child = folder
            .command(&["check", "--format", "concise"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut first = String::new();
        let mut reader = BufReader::new(child.stdout.take().unwrap());
        reader.read_line(&mut first).unwrap();
        drop(reader);
        let output = child.wait_with_output().unwrap();
        assert!(first.starts_with("order.gtt:1:"), "{first}");
        assert_eq!(output.status.code(), Some(1));
        assert_eq!(output.stderr, b"");
    }
}
