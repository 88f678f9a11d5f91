//! `--baseline` and `--write-baseline`.

use crate::support::{Folder, RIGHT};

/// An order with a dose out of what is usual, and no word of what follows.
fn unusual() -> String {
    RIGHT
        .replace("0.06 mcg/kg/min", "1.5 mcg/kg/min")
        .replace("  then       renew\n", "")
}

fn read(folder: &Folder) -> String {
    String::from_utf8(folder.read("known.toml")).unwrap()
}

#[test]
fn what_is_there_is_written_and_held_back() {
    let folder = Folder::with_order(&unusual());
    let before = folder.run(&["check", "--fail-on", "warning"]);
    assert_eq!(before.code, Some(1));
    let written = folder.run(&["check", "--write-baseline", "known.toml"]);
    insta::assert_snapshot!(written.told());
    insta::assert_snapshot!(read(&folder));
    let held = folder.run(&["check", "--baseline", "known.toml", "--fail-on", "warning"]);
    insta::assert_snapshot!(held.told());
}

#[test]
fn lines_may_move() {
    let folder = Folder::with_order(&unusual());
    folder.run(&["check", "--write-baseline", "known.toml"]);
    folder.write("order.gtt", format!("# moved\n\n{}", unusual()).as_bytes());
    let held = folder.run(&["check", "--baseline", "known.toml", "--fail-on", "warning"]);
    assert_eq!(held.code, Some(0), "{held:?}");
}

#[test]
fn one_more_of_a_kind_and_all_are_shown() {
    let folder = Folder::with_order(&unusual());
    folder.run(&["check", "--write-baseline", "known.toml"]);
    let worse = unusual().replace(
        "  review by",
        "  adjust     0.5 to 1.5 mcg/kg/min by 0.5 mcg/kg/min every 5 min\n  phase      a\n    run      10 mL at 1.6 mcg/kg/min\n  phase      b\n    run      10 mL at 1.7 mcg/kg/min\n  review by",
    );
    folder.write("order.gtt", worse.as_bytes());
    let shown = folder.run(&["check", "--baseline", "known.toml"]);
    assert!(shown.out.contains("limit.unusual"), "{shown:?}");
}

#[test]
fn what_is_fixed_is_told() {
    let folder = Folder::with_order(&unusual());
    folder.run(&["check", "--write-baseline", "known.toml"]);
    folder.write("order.gtt", RIGHT.as_bytes());
    let fixed = folder.run(&["check", "--baseline", "known.toml"]);
    insta::assert_snapshot!(fixed.told());
    let json = folder.run(&["check", "--baseline", "known.toml", "--format", "json"]);
    let json = json.json();
    assert_eq!(json["baseline"]["held"], 0);
    assert!(json["baseline"]["fixed"].as_array().unwrap().len() > 1);
    folder.run(&["check", "--write-baseline", "known.toml"]);
    assert!(!read(&folder).contains("[[finding]]"), "{}", read(&folder));
}

#[test]
fn files_that_are_not_checked_keep_their_entries() {
    let folder = Folder::with_order(&unusual());
    folder.write(
        "other.gtt",
        unusual()
            .replace("noradrenaline-central", "second")
            .as_bytes(),
    );
    folder.run(&["check", "--write-baseline", "known.toml"]);
    let all = read(&folder);
    assert!(all.contains("other.gtt"), "{all}");
    folder.write("order.gtt", RIGHT.as_bytes());
    let one = folder.run(&["check", "order.gtt", "--baseline", "known.toml"]);
    assert!(!one.err.contains("other.gtt"), "{one:?}");
    folder.run(&["check", "order.gtt", "--write-baseline", "known.toml"]);
    let rest = read(&folder);
    assert!(
        rest.contains("other.gtt") && !rest.contains("order.gtt"),
        "{rest}"
    );
}

#[test]
fn nothing_locked_stands_in_it() {
    let never = RIGHT.replace("0.06 mcg/kg/min", "3 mcg/kg/min");
    let folder = Folder::with_order(&never);
    let written = folder.run(&["check", "--write-baseline", "known.toml"]);
    assert_eq!(written.code, Some(1), "{written:?}");
    assert!(written.err.contains("cannot be held back"), "{written:?}");
    assert!(!read(&folder).contains("limit.never"));
    let held = folder.run(&["check", "--baseline", "known.toml"]);
    assert!(held.out.contains("limit.never"), "{held:?}");
    folder.write(
        "known.toml",
        b"[[finding]]\nfile = \"order.gtt\"\nrule = \"limit.never\"\ncount = 1\n",
    );
    folder
        .run(&["check", "--baseline", "known.toml"])
        .refused("known.toml: `limit.never` is locked: its findings cannot be held back");
}

#[test]
fn what_is_no_baseline_is_refused() {
    let folder = Folder::with_order(RIGHT);
    folder
        .run(&["check", "--baseline", "known.toml"])
        .refused("cannot read known.toml: there is no such file or folder");
    folder.write(
        "known.toml",
        b"[[finding]]\nfile = \"order.gtt\"\nrule = \"limit.unusal\"\ncount = 1\n",
    );
    folder
        .run(&["check", "--baseline", "known.toml"])
        .refused("known.toml: no rule is called `limit.unusal`: was `limit.unusual` meant?");
    folder.write("known.toml", b"[[finding]]\nline = 3\n");
    let refused = folder.run(&["check", "--baseline", "known.toml"]);
    assert_eq!(refused.code, Some(2));
    assert!(refused.err.contains("line 2"), "{refused:?}");
}

/// A device has no end, and nobody may write to a pipe.
#[cfg(unix)]
#[test]
fn what_is_no_plain_file_is_neither_read_nor_written() {
    let folder = Folder::with_order(RIGHT);
    for place in ["/dev/zero", "/dev/full"] {
        for option in ["--baseline", "--write-baseline"] {
            let ran = folder.run(&["check", option, place]);
            assert_eq!(ran.code, Some(2), "{ran:?}");
            assert!(ran.err.contains("not a plain file"), "{ran:?}");
        }
    }
}

/// Neither an order, nor the settings, nor a list of what is ignored makes way
/// for what is written, though a link leads to it.
#[test]
fn no_output_takes_the_place_of_a_source() {
    let folder = Folder::with_order(RIGHT);
    folder.write("gutta.toml", b"# ours, agreed 2026\n");
    folder.write(".gitignore", b"# none yet\n");
    #[cfg(unix)]
    std::os::unix::fs::symlink(folder.path("order.gtt"), folder.path("out.json")).unwrap();
    let name = RIGHT
        .lines()
        .find_map(|line| line.strip_prefix("order "))
        .and_then(|rest| rest.split_whitespace().next())
        .unwrap();
    for place in [
        "order.gtt",
        "other.GTT",
        "gutta.toml",
        ".gitignore",
        "out.json",
    ] {
        if cfg!(not(unix)) && place == "out.json" {
            continue;
        }
        for arguments in [
            vec!["check", "--write-baseline", place],
            vec!["export", "--fhir", "r4", "--output", place],
            vec!["sheet", name, "--output", place],
        ] {
            let ran = folder.run(&arguments);
            assert_eq!(ran.code, Some(2), "{arguments:?} {ran:?}");
            assert!(
                ran.err.contains("nothing was written"),
                "{arguments:?} {ran:?}"
            );
        }
    }
    assert_eq!(folder.read("order.gtt"), RIGHT.as_bytes());
    assert_eq!(folder.read("gutta.toml"), b"# ours, agreed 2026\n");
}

/// A file of comments alone reads as a baseline of nothing, and is somebody's.
#[test]
fn a_file_of_comments_is_no_baseline() {
    let folder = Folder::with_order(&unusual());
    folder.write("notes.toml", b"# agreed 2026\n");
    let ran = folder.run(&["check", "--write-baseline", "notes.toml"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert_eq!(folder.read("notes.toml"), b"# agreed 2026\n");
    // One of ours that holds nothing is written again.
    folder.write("none.toml", b"");
    let ran = folder.run(&["check", "--write-baseline", "none.toml"]);
    assert!(ran.err.is_empty() || ran.code != Some(2), "{ran:?}");
    assert!(!folder.read("none.toml").is_empty());
}

/// Nothing is dropped without a word, and nothing that is still there.
#[test]
fn what_goes_with_its_file_is_told() {
    let folder = Folder::with_order(&unusual());
    let other = unusual().replace("noradrenaline-central", "second");
    for path in ["other.gtt", "third.gtt"] {
        let own = other.replace("second", path.trim_end_matches(".gtt"));
        folder.write(path, own.as_bytes());
    }
    folder.run(&["check", "--write-baseline", "known.toml"]);
    let of = |text: &str, file: &str| text.matches(&format!("file = \"{file}\"")).count();
    let before = read(&folder);
    assert!(of(&before, "other.gtt") > 0);
    std::fs::remove_file(folder.path("other.gtt")).unwrap();
    folder.write(".gitignore", b"third.gtt\n");
    let written = folder.run(&["check", "--write-baseline", "known.toml"]);
    let count = of(&before, "other.gtt");
    let told = format!(
        "gutta: {count} findings of files that no longer exist removed: other.gtt ({count}).\n"
    );
    assert!(written.err.contains(&told), "{written:?}");
    let after = read(&folder);
    assert_eq!(of(&after, "other.gtt"), 0);
    assert_eq!(of(&after, "third.gtt"), of(&before, "third.gtt"));
    // What is passed over has not been mended.
    let held = folder.run(&["check", "--baseline", "known.toml"]);
    assert!(!held.err.contains("fixed"), "{held:?}");
}

/// Without a `gutta.toml` the files beside the one that is named are not read,
/// and keep their entries all the same.
#[test]
fn files_beside_the_one_that_is_named_are_not_gone() {
    let folder = Folder::with_order(&unusual());
    std::fs::remove_file(folder.path("gutta.toml")).unwrap();
    let other = unusual().replace("noradrenaline-central", "second");
    folder.write("other.gtt", other.as_bytes());
    folder.run(&["check", "--write-baseline", "known.toml"]);
    assert!(read(&folder).contains("other.gtt"));
    folder.run(&["check", "order.gtt", "--write-baseline", "known.toml"]);
    assert!(read(&folder).contains("other.gtt"));
}
