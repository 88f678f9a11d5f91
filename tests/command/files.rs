//! Which files are read, and what is said of the others.

use serde_json::{Value, json};

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// An order whose drug is spelt as `house` has it, below the reference.
fn order(name: &str, used: &str) -> String {
    RIGHT
        .replace("noradrenaline-central", name)
        .replace("reference.gtt", used)
}

/// What `--show-files` lists as passed over, by path.
pub(crate) fn passed(folder: &Folder) -> Vec<(String, String, bool)> {
    let listed = folder.run(&["check", "--show-files", "--format", "json"]);
    let listed = listed.json();
    let passed = listed["passed_over"].as_array().unwrap().iter();
    let one = |one: &Value| {
        let text = |key: &str| one[key].as_str().unwrap().to_owned();
        (text("path"), text("why"), one["fault"].as_bool().unwrap())
    };
    passed.map(one).collect()
}

/// That the run ended, with something to look at, and said this.
pub(crate) fn fails(ran: &Ran, said: &str) {
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(ran.err.contains(said), "{said}: {ran:?}");
}

#[test]
fn what_is_read_and_what_is_not_is_listed() {
    let folder = Folder::with_order(RIGHT);
    folder.write("gutta.toml", b"exclude = [\"drafts/\"]\n");
    folder.write(".gitignore", b"/out/\nbare/\n");
    folder.write("drafts/a.gtt", b"");
    folder.write("out/deep/a.gtt", b"");
    folder.write("bare/notes.txt", b"");
    folder.write(".hidden/a.gtt", b"");
    folder.write("notes.txt", b"");
    insta::assert_snapshot!(folder.run(&["check", "--show-files"]).told(), @r"
    exit code 0
    Read:
      order.gtt
      reference.gtt
    Not read:
      .gitignore: hidden
      .hidden/: hidden
      bare/: ignored by `bare/` in .gitignore
      drafts/: excluded by gutta.toml
      notes.txt: does not end in .gtt
      out/deep/a.gtt: ignored by `/out/` in .gitignore
    ");
    insta::assert_snapshot!(folder.run(&["check"]).told(), @r"
    exit code 0
    A checking aid, not a medical device. Local policy, the manufacturer's
    information and licensed practice decide. Have everything checked independently
    by a second person.
    `gutta check --show-files` lists what was not read, and why.
    No errors or warnings in 2 files (6 stanzas); 1 ignored
    ");
    let summary = folder.run(&["check", "--format", "json"]).json()["summary"].clone();
    assert_eq!(summary["passed_over"], json!({"faults": 0, "ignored": 1}));
    folder
        .run(&["check", "--show-files", "--format", "sarif"])
        .refused("--show-files works with --format text or json");
}

#[test]
fn what_stands_above_the_workspace_ignores_nothing() {
    let folder = Folder::new(&[
        (".gitignore", "ws/order.gtt\n"),
        ("ws/gutta.toml", ""),
        ("ws/reference.gtt", REFERENCE),
        ("ws/order.gtt", RIGHT),
        ("config/git/ignore", "*.gtt\n"),
    ]);
    let mut command = folder.command(&["check", "ws"]);
    command.env("XDG_CONFIG_HOME", folder.path("config"));
    command.env("HOME", folder.path("config"));
    let output = command.output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(
        out.ends_with("No errors or warnings in 2 files (6 stanzas)\n"),
        "{out}"
    );
}

#[test]
fn nothing_read_is_not_nothing_wrong() {
    let folder = Folder::with_order(RIGHT);
    folder.write("gutta.toml", b"exclude = [\"**\"]\n");
    let ran = folder.run(&["check"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{ran:?}");
    assert!(
        ran.err.contains(": 2 excluded by gutta.toml; "),
        "{}",
        ran.err
    );
    // A hook names what has changed, whatever it is.
    let ran = folder.run(&["check", "order.gtt"]);
    assert_eq!(ran.code, Some(0));
    assert_eq!(
        ran.last_line(),
        "Nothing was checked in 0 files (0 stanzas)"
    );
}

#[test]
fn the_innermost_workspace_judges_a_file() {
    let inner = order("inner", "../reference.gtt");
    let spaced = order("outer", "reference.gtt");
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", REFERENCE),
        ("order.gtt", spaced.as_str()),
        ("icu/gutta.toml", "micrograms = \"micrograms\"\n"),
        ("icu/reference.gtt", REFERENCE),
        ("icu/order.gtt", &inner.replace("../reference", "reference")),
        ("icu/deep/gutta.toml", ""),
        ("icu/deep/a.gtt", "ordr a\n"),
    ]);
    let alone = folder.run(&["check", "icu", "--format", "json"]).json();
    let all = folder.run(&["check", "--format", "json"]).json();
    let of = |document: &Value, prefix: &str| -> Vec<(String, Value)> {
        let found = document["findings"].as_array().unwrap().iter();
        let own = found.filter_map(|found| {
            let file = found["file"].as_str()?.strip_prefix(prefix)?;
            Some((file.to_owned(), found["message"].clone()))
        });
        own.collect()
    };
    assert!(!of(&alone, "").is_empty());
    assert_eq!(of(&all, "icu/"), of(&alone, ""));
    assert_eq!(all["summary"]["files"], 5);
    // Named in whatever order, each is judged by its own.
    for paths in [
        ["icu/order.gtt", "order.gtt"],
        ["order.gtt", "icu/order.gtt"],
    ] {
        let mut words = vec!["check", "--format", "json"];
        words.extend(paths);
        let both = folder.run(&words).json();
        assert_eq!(both["summary"]["files"], 2);
        let own = |(file, _): &(String, Value)| file == "order.gtt";
        let wanted: Vec<_> = of(&alone, "").into_iter().filter(own).collect();
        assert_eq!(of(&both, "icu/"), wanted);
    }
    // Text is laid out as its own house writes.
    folder.write("icu/order.gtt", inner.replace("../ref", "ref").as_bytes());
    folder.run(&["fmt"]);
    let text = |path| String::from_utf8(folder.read(path)).unwrap();
    assert_eq!(
        folder.run(&["fmt", "--check", "icu"]).code,
        folder.run(&["fmt", "--check"]).code,
        "{}",
        text("icu/order.gtt")
    );
    let derived = folder.run(&["derive", "--format", "json"]).json();
    let files = derived["orders"].as_array().unwrap().iter();
    let files: Vec<_> = files.map(|order| order["file"].as_str().unwrap()).collect();
    assert_eq!(files, ["order.gtt", "icu/order.gtt"]);
}

#[test]
fn what_may_be_an_order_is_told_by_all_who_take_orders() {
    let folder = Folder::with_order(RIGHT);
    folder.write("typo.gtt", b"ordr other \"Other\"\n  route central vein\n");
    folder.write("bytes.gtt", b"\0");
    let stanza = "gutta: no stanza could be read at typo.gtt:1\n";
    let file = "gutta: bytes.gtt is not a text file, or is too large\n";
    let runs: [&[&str]; 3] = [
        &["derive"],
        &["sheet", "--site", "site"],
        &["export", "--fhir", "r5"],
    ];
    for words in runs {
        let ran = folder.run(words);
        fails(&ran, stanza);
        fails(&ran, file);
        let _ = std::fs::remove_dir_all(folder.path("site"));
    }
    std::fs::create_dir(folder.path("old")).unwrap();
    folder.write("old/gutta.toml", b"");
    folder.write("old/order.gtt", RIGHT.as_bytes());
    folder.write("old/reference.gtt", REFERENCE.as_bytes());
    let ran = folder.run(&["compare", "old"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("typo.gtt:1"), "{ran:?}");
    assert!(
        ran.err.contains("gutta: old is a workspace of its own"),
        "{ran:?}"
    );
    // Who names an order has it.
    let ran = folder.run(&["derive", "--order", "noradrenaline-central"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
}

#[test]
fn what_is_used_and_never_checked_is_told() {
    let folder = Folder::with_order(RIGHT);
    folder.write("gutta.toml", b"exclude = [\"old.gtt\"]\n");
    folder.write(".ignore", b"ignored.gtt\n");
    folder.write("inner/gutta.toml", b"");
    let used = [
        ("old.gtt", "excluded by gutta.toml"),
        ("ignored.gtt", "ignored by `ignored.gtt` in .ignore"),
        (".hidden.gtt", "hidden"),
        ("reference.txt", "does not end in .gtt"),
        ("inner/reference.gtt", "a workspace of its own"),
    ];
    for (path, why) in used {
        folder.write(path, REFERENCE.as_bytes());
        folder.write("order.gtt", RIGHT.replace("reference.gtt", path).as_bytes());
        let ran = folder.run(&["check", "order.gtt", "--format", "concise"]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let said = format!(
            "order.gtt:1:5: warning name.use-unchecked: `{path}` is used here, but is not checked itself: {why}."
        );
        assert!(ran.out.contains(&said), "{said}\n{}", ran.out);
    }
    // One that the whole is checked with is none of them.
    folder.write("order.gtt", RIGHT.as_bytes());
    let ran = folder.run(&["check", "order.gtt", "--format", "concise"]);
    assert!(!ran.out.contains("use-unchecked"), "{}", ran.out);
}
