//! `gutta check`.

use serde_json::json;

use crate::support::{Folder, REFERENCE, RIGHT};

/// Several slips: a unit without its blank, an unknown drug, a dose that must
/// never be, a line that cannot be read.
const WRONG: &str = r#"use "reference.gtt"

order noradrenaline-central "Noradrenaline, single strength"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4mg made up to 50 mL with glucose-5
  run        all at 3 mcg/kg/min
  then       renew

order other "Another"
  drug       noradrenalin
  rout       central vein
  hang       500 mL of glucose-5
  run        all over 4 h
  then       stop
"#;

#[test]
fn a_right_order_is_left_in_peace() {
    let ran = Folder::with_order(RIGHT).run(&["check"]);
    insta::assert_snapshot!(ran.told(), @r"
    exit code 0
    A checking aid, not a medical device. Local policy, the manufacturer's
    information and licensed practice decide. Have everything checked independently
    by a second person.
    No errors or warnings in 2 files (6 stanzas)
    ");
}

#[test]
fn findings_are_told_with_their_lines() {
    let ran = Folder::with_order(WRONG).run(&["check"]);
    insta::assert_snapshot!(ran.told());
    for line in ran.out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn hints_are_shown_on_request() {
    let folder = Folder::with_order(&RIGHT.replace("  review by  2027-11-01\n", ""));
    let quiet = folder.run(&["check"]);
    assert!(!quiet.out.contains("review.none"), "{}", quiet.out);
    assert!(
        quiet.out.contains("1 hint: shown with --all."),
        "{}",
        quiet.out
    );
    let all = folder.run(&["check", "--all"]);
    assert!(all.out.starts_with("hint[review.none]: "), "{}", all.out);
    assert!(
        all.out
            .ends_with("\nNo errors or warnings in 2 files (6 stanzas)\n"),
        "{}",
        all.out
    );
    assert_eq!((quiet.code, all.code), (Some(0), Some(0)));
}

#[test]
fn the_level_that_fails_is_chosen() {
    let folder = Folder::with_order(&RIGHT.replace("4 mg made", "4mg made"));
    assert_eq!(folder.run(&["check"]).code, Some(0));
    assert_eq!(folder.run(&["check", "--fail-on", "warning"]).code, Some(1));
    let late = Folder::with_order(&RIGHT.replace("2027-11-01", "2026-11-24"));
    let ran = late.run(&["check", "--fail-on", "warning"]);
    assert!(ran.out.contains("review.overdue"), "{}", ran.out);
    assert_eq!(ran.code, Some(1));
    let ran = late.run(&["check", "--fail-on", "warning", "--today", "2026-11-23"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
}

#[test]
fn one_line_a_finding() {
    let ran = Folder::with_order(WRONG).run(&["check", "--format", "concise"]);
    assert_eq!(ran.code, Some(1));
    let line = ran.out.lines().find(|line| line.contains("text.no-space"));
    let line = line.expect("the blank that is missing");
    assert!(
        line.starts_with("order.gtt:8:14: warning text.no-space: "),
        "{line}"
    );
}

#[test]
fn json_has_the_documented_shape() {
    let ran = Folder::with_order(WRONG).run(&["check", "--format", "json"]);
    let document = ran.json();
    let findings = document["findings"].as_array().unwrap();
    let found = |rule: &str| {
        let found = findings.iter().find(|finding| finding["rule"] == rule);
        found
            .unwrap_or_else(|| panic!("{rule} in {}", ran.out))
            .clone()
    };
    let blank = found("text.no-space");
    assert_eq!(blank["severity"], "warning");
    assert_eq!(blank["file"], "order.gtt");
    assert_eq!(blank["start"], json!({"line": 8, "column": 14}));
    assert_eq!(blank["end"], json!({"line": 8, "column": 17}));
    assert_eq!(blank["stanza"], "noradrenaline-central");
    assert!(blank["message"].as_str().unwrap().contains("4mg"));
    let fix = &blank["fixes"][0];
    assert_eq!(fix["spelling"], true);
    assert_eq!(fix["edits"][0]["text"], " ");
    assert_eq!(fix["edits"][0]["start"], json!({"line": 8, "column": 15}));
    let never = found("limit.never");
    assert_eq!(never["related"][0]["file"], "reference.gtt");
    assert_eq!(never["related"][0]["start"]["line"], 17);
    // The dose breaks the never; that it is unusual, and too fast for the pump,
    // follows. Each is there, and counts.
    assert_eq!(document["version"], 2);
    assert_eq!(never["cause"], json!(null));
    for rule in ["limit.unusual", "flow.outside-pump", "limit.slip"] {
        assert_eq!(found(rule)["cause"], never["fingerprint"], "{rule}");
    }
    let errors = findings
        .iter()
        .filter(|finding| finding["severity"] == "error");
    let summary = &document["summary"];
    assert_eq!(summary["errors"], errors.count());
    assert_eq!(summary["files"], 2);
    assert_eq!(summary["stanzas"], 7);
    for count in ["warnings", "information", "hints"] {
        assert!(summary[count].is_u64(), "{count}");
    }
}

#[test]
fn json_lines_are_the_same_findings() {
    let folder = Folder::with_order(WRONG);
    let document = folder.run(&["check", "--format", "json"]).json();
    let lines = folder.run(&["check", "--format", "jsonl"]).out;
    let lines: Vec<serde_json::Value> = lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let (last, findings) = lines.split_last().unwrap();
    assert_eq!(
        findings,
        document["findings"].as_array().unwrap().as_slice()
    );
    assert_eq!(last["summary"], document["summary"]);
}

#[test]
fn the_same_files_give_the_same_output() {
    let folder = Folder::with_order(WRONG);
    for number in 0..20 {
        folder.write(&format!("more/{number}.gtt"), WRONG.as_bytes());
    }
    let first = folder.run(&["check", "--format", "json"]).out;
    for _ in 0..3 {
        assert_eq!(folder.run(&["check", "--format", "json"]).out, first);
    }
}

#[test]
fn only_the_files_asked_for_are_reported() {
    let folder = Folder::with_order(RIGHT);
    folder.write("wrong.gtt", WRONG.as_bytes());
    let ran = folder.run(&["check", "order.gtt"]);
    assert_eq!(
        ran.last_line(),
        "No errors or warnings in 1 file (2 stanzas)"
    );
    let ran = folder.run(&["check", "wrong.gtt", "--format", "json"]);
    let files: Vec<_> = ran.json()["findings"].as_array().unwrap().clone();
    assert!(files.iter().all(|finding| finding["file"] == "wrong.gtt"));
}

#[test]
fn without_a_marked_workspace_used_files_are_read() {
    let folder = Folder::new(&[("reference.gtt", REFERENCE), ("order.gtt", RIGHT)]);
    let ran = folder.run(&["check", "order.gtt"]);
    assert_eq!(
        ran.last_line(),
        "No errors or warnings in 1 file (2 stanzas)"
    );
}

#[test]
fn standard_input_stands_for_a_file() {
    let folder = Folder::with_order(RIGHT);
    let text = RIGHT
        .replace("0.06 mcg", "3 mcg")
        .replace("reference", "../reference");
    let text = text.replace("-central \"", "-new \"");
    let words = [
        "check",
        "-",
        "--stdin-name",
        "ward/new.gtt",
        "--format",
        "concise",
    ];
    let ran = folder.pipe(&words, &text);
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.out.contains("ward/new.gtt:9:3: error limit.never: "),
        "{}",
        ran.out
    );
    assert!(ran.out.ends_with("in 1 file (2 stanzas)\n"), "{}", ran.out);
}

#[test]
fn paths_are_shown_from_where_one_stands() {
    let folder = Folder::with_order(RIGHT);
    folder.write(
        "icu/a.gtt",
        WRONG.replace("reference", "../reference").as_bytes(),
    );
    let ran = folder.run_in("icu", &["check", "--format", "concise", ".."]);
    assert!(ran.out.contains("\na.gtt:"), "{}", ran.out);
    let json = folder
        .run_in("icu", &["check", "--format", "json", "a.gtt"])
        .json();
    assert_eq!(json["findings"][0]["file"], "icu/a.gtt");
}

#[test]
fn hidden_ignored_and_excluded_files_are_passed_over() {
    let folder = Folder::with_order(RIGHT);
    folder.write(".hidden/a.gtt", WRONG.as_bytes());
    folder.write(".gitignore", b"/ignored/\n");
    folder.write("ignored/a.gtt", WRONG.as_bytes());
    folder.write("gutta.toml", b"exclude = [\"drafts/\"]\n");
    folder.write("drafts/a.gtt", WRONG.as_bytes());
    folder.write("notes.txt", WRONG.as_bytes());
    let ran = folder.run(&["check"]);
    assert_eq!(
        ran.last_line(),
        "No errors or warnings in 2 files (6 stanzas); 1 ignored"
    );
    // A hook names every file that has changed.
    let ran = folder.run(&["check", "drafts/a.gtt", "order.gtt"]);
    assert_eq!(ran.code, Some(0));
    assert_eq!(ran.err, "gutta: drafts/a.gtt is excluded by gutta.toml\n");
    assert_eq!(
        ran.last_line(),
        "No errors or warnings in 1 file (2 stanzas)"
    );
}

#[test]
fn colours_are_used_where_they_are_wanted() {
    let folder = Folder::with_order(WRONG);
    let coloured = |words: &[&str]| folder.run(words).out.contains('\u{1b}');
    assert!(!coloured(&["check"]), "no terminal");
    assert!(coloured(&["check", "--color", "always"]));
    assert!(coloured(&["check", "--color=always", "--format=concise"]));
    assert!(!coloured(&["check", "--color", "never"]));
    assert!(!coloured(&[
        "check", "--color", "always", "--format", "json"
    ]));
}

#[test]
fn a_wrong_house_setting_is_said() {
    let folder = Folder::with_order(RIGHT);
    folder.write("gutta.toml", b"\ncolour = \"red\"\n");
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err.starts_with("gutta: gutta.toml:2:1: "),
        "{}",
        ran.err
    );
    folder.write("gutta.toml", b"pump = \"gravity\"\n");
    assert_eq!(folder.run(&["check"]).code, Some(2));
}

#[test]
fn a_wrong_argument_is_said_in_one_line() {
    let folder = Folder::with_order(RIGHT);
    for words in [
        &["check", "--formt", "json"][..],
        &["check", "--format", "xml"],
        &["check", "--fail-on", "bad"],
        &["check", "--today", "2026-02-30"],
        &["check", "--today", "tomorrow"],
        &["chek"],
        &["check", "-", "order.gtt"],
        &["derive", "--weight", "70"],
    ] {
        let ran = folder.run(words);
        assert_eq!(ran.code, Some(2), "{words:?}");
        assert_eq!(ran.err.lines().count(), 1, "{}", ran.err);
        assert!(ran.err.starts_with("gutta: "), "{}", ran.err);
    }
}
