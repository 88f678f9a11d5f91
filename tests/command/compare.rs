//! `gutta compare`.

use std::process::Command;

use serde_json::json;

use crate::support::{Folder, REFERENCE, RIGHT};

/// A repository in which two states are committed: `before` and `after`.
fn history(before: &[(&str, &str)], after: &[(&str, &str)]) -> Folder {
    let folder = Folder::new(before);
    git(&folder, &["init", "--quiet", "--initial-branch=main"]);
    commit(&folder, "before");
    for (path, text) in after {
        folder.write(path, text.as_bytes());
    }
    commit(&folder, "after");
    folder
}

fn commit(folder: &Folder, tag: &str) {
    git(folder, &["add", "--all"]);
    git(
        folder,
        &["commit", "--quiet", "--allow-empty", "--message", tag],
    );
    git(folder, &["tag", tag]);
}

fn git(folder: &Folder, words: &[&str]) {
    let mut command = Command::new("git");
    command.current_dir(folder.path(".")).args(words);
    // Nobody's own settings.
    command
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_SYSTEM", "/dev/null");
    for who in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{who}_NAME"), "Tarnwick");
        command.env(format!("GIT_{who}_EMAIL"), "tarnwick@example.org");
    }
    let output = command.output().unwrap();
    assert!(output.status.success(), "{words:?}: {output:?}");
}

fn changed() -> Folder {
    let reference = REFERENCE
        .replace("above 2 mcg/kg/min", "above 3 mcg/kg/min")
        .replace("in steps of 0.1 mL/h", "in steps of 0.2 mL/h");
    let order = RIGHT
        .replace("4 mg made up to", "8 mg made up to")
        .replace("  review by", "  monitor    \"arterial line\"\n  review by");
    let new = order.replace("noradrenaline-central \"", "noradrenaline-new \"");
    let new = new.replace("use \"reference.gtt\"", "");
    history(
        &[
            ("gutta.toml", ""),
            ("reference.gtt", REFERENCE),
            ("order.gtt", RIGHT),
        ],
        &[
            ("reference.gtt", &reference),
            ("order.gtt", &format!("{order}{new}")),
        ],
    )
}

#[test]
fn changes_are_told_with_their_ratios() {
    let folder = changed();
    let ran = folder.run(&["compare", "before", "after"]);
    insta::assert_snapshot!("compared_as_text", ran.told());
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80));
    let markdown = folder.run(&["compare", "before", "after", "--format", "markdown"]);
    insta::assert_snapshot!("compared_as_markdown", markdown.told());
    let rows = folder.run(&["compare", "before", "after", "--rows"]);
    insta::assert_snapshot!("compared_with_rows_as_text", rows.told());
    assert!(rows.out.lines().all(|line| line.chars().count() <= 80));
    let rows = [
        "compare", "before", "after", "--rows", "--format", "markdown",
    ];
    insta::assert_snapshot!("compared_with_rows_as_markdown", folder.run(&rows).told());
    let json = folder.run(&["compare", "before", "after", "--format", "json"]);
    insta::assert_snapshot!("compared_as_json", json.told());
    let document = json.json();
    assert_eq!(document["same"], false);
    assert_eq!(document["threshold"], "1/10");
    assert_eq!(
        document["orders"],
        json!({"before": 1, "after": 2, "same": 0})
    );
    let order = &document["changed"][0];
    let flow = order["changes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|change| change["what"] == "flow");
    // 0.06 mcg/kg/min × 40 kg × 60 min/h ÷ 160 mcg/mL = 0.9 mL/h, by hand.
    let row = json!({
        "at": "40 kg", "ratio": "1/2",
        "before": {"shown": "1.8 mL/h", "exact": "9/5", "unit": "mL/h"},
        "after": {"shown": "0.9 mL/h", "exact": "9/10", "unit": "mL/h"},
    });
    assert_eq!(flow.unwrap()["rows"][0], row);
}

#[test]
fn what_was_changed_comes_first_and_what_follows_in_one_line() {
    let folder = history(
        &[
            ("gutta.toml", ""),
            ("reference.gtt", REFERENCE),
            ("order.gtt", RIGHT),
        ],
        &[(
            "order.gtt",
            &RIGHT.replace("mix        4 mg", "mix        8 mg"),
        )],
    );
    let said = folder.run(&["compare", "before", "after"]).out;
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    // Twice as strong: by hand, every flow halves, and the dose is what it was.
    let changed = "! drug in the bag: 4 mg \u{2192} 8 mg; \u{d7} 2 ! so: the dose stays; strength, draw, containers, time and runs dry \u{d7} 2; flow, ";
    assert!(words.contains(changed), "{said}");
    // A run's own number is what was changed, and no consequence.
    let other = RIGHT.replace("at 0.06 mcg/kg/min", "at 0.12 mcg/kg/min");
    folder.write("order.gtt", other.as_bytes());
    let said = folder.run(&["compare", "before"]).out;
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let changed =
        "! dose: 0.06 mcg/kg/min \u{2192} 0.12 mcg/kg/min; \u{d7} 2 ! so: the strength stays; flow";
    assert!(words.contains(changed), "{said}");
    // A pump alone: nothing of the order itself was changed.
    folder.write("order.gtt", RIGHT.as_bytes());
    let pump = REFERENCE.replace("in steps of 0.1 mL/h", "in steps of 0.5 mL/h");
    folder.write("reference.gtt", pump.as_bytes());
    let said = folder.run(&["compare", "before"]).out;
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let changed = "! because of what it uses: the strength, the dose and the flow stay; pump flow ";
    assert!(words.contains(changed), "{said}");
}

#[test]
fn colours_change_no_word() {
    let folder = changed();
    let plain = folder.run(&["compare", "before"]).out;
    let coloured = folder.run(&["--color", "always", "compare", "before"]).out;
    assert!(coloured.contains("\u{1b}["));
    let mut bare = String::new();
    let mut parts = coloured.split("\u{1b}[");
    bare.push_str(parts.next().unwrap());
    for part in parts {
        bare.push_str(part.split_once('m').unwrap().1);
    }
    assert_eq!(bare, plain);
}

#[test]
fn the_same_meaning_is_one_line() {
    let folder = changed();
    let words = "No change in meaning, in 2 orders and in everything that they use.\n";
    for states in [
        &["compare", "after"][..],
        &["compare", "HEAD", "main"],
        &["compare", ".", "."],
    ] {
        let ran = folder.run(states);
        assert_eq!((ran.code, ran.out.as_str()), (Some(0), words), "{states:?}");
    }
    // Comments and layout alone.
    let order = String::from_utf8(folder.read("order.gtt")).unwrap();
    let other = order
        .replace("  route  ", "  # by a line\n    route")
        .replace("8 mg", "8000 mcg");
    folder.write("order.gtt", other.as_bytes());
    let ran = folder.run(&["compare", "HEAD"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), words));
}

#[test]
fn a_state_is_a_folder_or_a_revision() {
    let folder = changed();
    folder.write("old/gutta.toml", b"");
    folder.write("old/reference.gtt", REFERENCE.as_bytes());
    folder.write("old/order.gtt", RIGHT.as_bytes());
    let of = |words: &[&str]| {
        let ran = folder.run(words);
        assert_eq!(ran.code, Some(1), "{ran:?}");
        ran.out
            .lines()
            .skip(1)
            .map(ToOwned::to_owned)
            .collect::<Vec<_>>()
    };
    let told = of(&["compare", "before", "after"]);
    // `old` is a workspace of its own; what is around it is compared without.
    std::fs::create_dir(folder.path("new")).unwrap();
    for path in ["gutta.toml", "reference.gtt", "order.gtt"] {
        std::fs::rename(folder.path(path), folder.path("new").join(path)).unwrap();
    }
    assert_eq!(of(&["compare", "old", "new"]), told);
    commit(&folder, "moved");
    assert_eq!(of(&["compare", "moved:old", "moved:new"]), told);
    let inside = folder.run_in("new", &["compare", "../old", "moved"]);
    assert!(
        inside.out.starts_with("No change in meaning, in 1 order "),
        "{inside:?}"
    );
}

#[test]
fn what_cannot_be_asked_is_said() {
    let folder = changed();
    folder
        .run(&["compare", "befor"])
        .refused("`befor` is neither a folder nor a revision of this repository (a clone without its history has few: fetch it)");
    folder
        .run(&["compare", "--", "--all"])
        .refused("`--all` is neither a folder nor a revision of this repository (a clone without its history has few: fetch it)");
    folder
        .run(&["compare", "after:order.gtt"])
        .refused("`after:order.gtt` is a file, not a folder");
    folder.write("in/side.gtt", b"");
    let ran = folder.run(&["compare", "in", "."]);
    assert!(ran.err.contains("in is inside the workspace "), "{ran:?}");
    git(&folder, &["rm", "--quiet", "-r", "--cached", "."]);
    commit(&folder, "empty");
    std::fs::remove_dir_all(folder.path("in")).unwrap();
    git(&folder, &["rm", "--quiet", "-r", "--cached", "."]);
    git(
        &folder,
        &["commit", "--quiet", "--allow-empty", "--message", "none"],
    );
    folder
        .run(&["compare", "HEAD"])
        .refused("there is no .gtt file at HEAD");
    let bare = Folder::with_order(RIGHT);
    let ran = bare.run(&["compare", "main"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("is not in a git repository"), "{ran:?}");
    let mut without = bare.command(&["compare", "main"]);
    let output = without.env("PATH", "").output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(
        said,
        "gutta: the program git is needed, and is not installed\n"
    );
}

#[test]
fn settings_and_exclusions_are_those_of_the_revision() {
    let folder = history(
        &[
            ("gutta.toml", "exclude = [\"old/**\"]\n"),
            ("reference.gtt", REFERENCE),
            ("order.gtt", RIGHT),
            (
                "old/order.gtt",
                &RIGHT.replace("reference.gtt", "../reference.gtt"),
            ),
            (".hidden/order.gtt", RIGHT),
        ],
        &[(
            "gutta.toml",
            "exclude = [\"old/**\"]\n[severity]\n\"limit.unusual\" = \"hint\"\n",
        )],
    );
    let ran = folder.run(&["compare", "before"]);
    assert!(
        ran.out
            .contains("! severity of limit.unusual: hint; new, widened"),
        "{ran:?}"
    );
    assert!(ran.out.contains("Orders: 1 unchanged."), "{ran:?}");
    folder.write("gutta.toml", b"nonsense = 1\n");
    commit(&folder, "wrong");
    folder.write("gutta.toml", b"");
    let ran = folder.run(&["compare", "wrong"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err
            .starts_with("gutta: gutta.toml:1:1 at wrong: `nonsense` is not a key"),
        "{ran:?}"
    );
}

/// What is ignored is passed over in a revision as it is on the disk, though git
/// was made to keep it.
#[test]
fn a_revision_is_read_by_its_own_lists() {
    let other = RIGHT.replace("noradrenaline-central", "old-order");
    let again = RIGHT.replace("noradrenaline-central", "kept-order");
    let folder = history(
        &[
            ("gutta.toml", ""),
            ("reference.gtt", REFERENCE),
            ("order.gtt", RIGHT),
            ("old/a.gtt", &other.replace("reference", "../reference")),
            ("old/kept.gtt", &again.replace("reference", "../reference")),
        ],
        &[],
    );
    folder.write(".gitignore", b"/old/*\n");
    folder.write(".ignore", b"!/old/kept.gtt\n");
    commit(&folder, "ignored");
    let same = folder.run(&["compare", "ignored"]);
    assert_eq!(same.code, Some(0), "{same:?}");
    assert!(same.out.contains("in 2 orders"), "{same:?}");
    let less = folder.run(&["compare", "before", "ignored"]);
    assert!(less.out.contains("old-order"), "{less:?}");
    assert!(!less.out.contains("kept-order"), "{less:?}");
    folder.write("c.gtt.txt", b"");
    commit(&folder, "near");
    let near = folder.run(&["compare", "before", "near"]);
    let told = "gutta: c.gtt.txt is passed over at near: an order file's name ends in `.gtt`";
    assert!(near.err.contains(told), "{near:?}");
}
