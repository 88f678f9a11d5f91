//! `--format sarif|junit|github|gitlab`. Every report is kept for
//! `tests/outside/formats`, which holds it against the published format.

use std::path::Path;

use serde_json::Value;

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// A blank that is missing, twice; doses that are too high; an unknown drug.
const WRONG: &str = r#"use "reference.gtt"

order noradrenaline-central "Noradrenaline, single strength"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4mg made up to 50mL with glucose-5
  run        all at 1.5 mcg/kg/min
  then       renew
  review by  2027-11-01

order other "Another"
  drug       noradrenalin
  area       adult-icu
  route      central vein
  pump       syringe
  hang       500 mL of glucose-5
  run        all over 4 h
  then       stop
"#;

const FORMATS: [&str; 4] = ["sarif", "junit", "github", "gitlab"];

/// The report, kept under the test's name.
fn report(folder: &Folder, name: &str, format: &str, more: &[&str]) -> Ran {
    let ran = folder.run(&[&["check", "--format", format], more].concat());
    let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join("formats");
    std::fs::create_dir_all(&kept).unwrap();
    std::fs::write(kept.join(format!("{name}.{format}")), &ran.out).unwrap();
    ran
}

fn results(ran: &Ran) -> Vec<Value> {
    ran.json()["runs"][0]["results"].as_array().unwrap().clone()
}

fn fingerprints(ran: &Ran) -> Vec<(String, String)> {
    let one = |found: &Value| {
        let rule = found["check_name"].as_str().unwrap();
        let fingerprint = found["fingerprint"].as_str().unwrap();
        (rule.to_owned(), fingerprint.to_owned())
    };
    ran.json().as_array().unwrap().iter().map(one).collect()
}

#[test]
fn sarif_has_the_findings_and_their_rules() {
    let ran = report(&Folder::with_order(WRONG), "wrong", "sarif", &[]);
    assert_eq!(ran.code, Some(1));
    let mut log = ran.json();
    let driver = &mut log["runs"][0]["tool"]["driver"];
    for rule in driver["rules"].as_array_mut().unwrap() {
        let help = rule["help"].take();
        let page = help["markdown"].as_str().unwrap();
        assert!(page.starts_with(&format!("# {}\n", rule["id"].as_str().unwrap())));
        assert!(help["text"].as_str().unwrap().contains("Why it matters"));
    }
    driver["semanticVersion"] = "of the build".into();
    insta::assert_snapshot!(serde_json::to_string_pretty(&log).unwrap());
}

#[test]
fn junit_has_a_case_for_each_stanza() {
    let ran = report(&Folder::with_order(WRONG), "wrong", "junit", &[]);
    insta::assert_snapshot!(ran.told());
}

#[test]
fn junit_fails_as_the_run_does() {
    let folder = Folder::with_order(&RIGHT.replace("4 mg", "4mg"));
    let failing = |words: &[&str]| {
        let ran = report(&folder, "fail-on", "junit", words);
        (ran.code, ran.out.matches("<failure").count())
    };
    assert_eq!(failing(&[]), (Some(0), 0));
    assert_eq!(failing(&["--fail-on", "warning"]), (Some(1), 1));
}

#[test]
fn github_has_a_command_for_each_finding() {
    let ran = report(&Folder::with_order(WRONG), "wrong", "github", &[]);
    insta::assert_snapshot!(ran.told());
}

#[test]
fn gitlab_has_a_violation_for_each_finding() {
    let ran = report(&Folder::with_order(WRONG), "wrong", "gitlab", &[]);
    insta::assert_snapshot!(ran.told());
}

#[test]
fn what_is_right_is_an_empty_report() {
    let folder = Folder::with_order(RIGHT);
    let [sarif, junit, github, gitlab] =
        FORMATS.map(|format| report(&folder, "right", format, &[]));
    assert_eq!(results(&sarif), [] as [Value; 0]);
    assert!(!junit.out.contains("<failure"), "{}", junit.out);
    assert!(junit.out.contains("order noradrenaline-central"));
    assert_eq!((github.out.as_str(), gitlab.out.as_str()), ("", "[]\n"));
}

#[test]
fn hints_are_reported_on_request() {
    let folder = Folder::with_order(&RIGHT.replace("  review by  2027-11-01\n", ""));
    for format in FORMATS {
        let quiet = report(&folder, "quiet", format, &[]);
        assert!(!quiet.out.contains("review.none"), "{format}");
        let all = report(&folder, "all", format, &["--all"]);
        assert!(all.out.contains("review.none"), "{format}");
    }
}

#[test]
fn fingerprints_survive_moved_lines_and_other_numbers() {
    let folder = Folder::with_order(WRONG);
    let before = fingerprints(&report(&folder, "before", "gitlab", &[]));
    let sarif = results(&report(&folder, "before", "sarif", &[]));
    let partial = |result: &Value| result["partialFingerprints"]["gutta/v1"].clone();
    let same = before.iter().map(|(_, mark)| mark.as_str());
    assert!(sarif.iter().map(partial).eq(same), "{sarif:?}");
    let (first, second) = WRONG.split_once("\norder other").unwrap();
    let (uses, first) = first.split_once("\norder").unwrap();
    let moved = format!("{uses}# moved\n\n\norder other{second}\norder{first}")
        .replace("1.5 mcg", "1.6 mcg")
        .replace("4mg", "5mg");
    folder.write("order.gtt", moved.as_bytes());
    let mut after = fingerprints(&report(&folder, "after", "gitlab", &[]));
    let mut before = before;
    before.sort();
    after.sort();
    assert_eq!(before, after);
    let blanks = before.iter().filter(|(rule, _)| rule == "text.no-space");
    assert_eq!(blanks.count(), 2, "alike, and yet two: {before:?}");
    // The same of another stanza is another finding.
    folder.write("order.gtt", WRONG.replace("-central", "-new").as_bytes());
    let renamed = fingerprints(&report(&folder, "renamed", "gitlab", &[]));
    let kept = renamed.iter().filter(|found| before.contains(found));
    assert!(kept.clone().all(|(rule, _)| rule != "text.no-space"));
    assert!(kept.count() > 0, "those of the other order stay");
}

/// A name and a text that would end a command, an element, a string or a line.
const HOSTILE: &str = "odd ]]>\"'&<b>{0}[x](y)%0A::error::,a=b:\u{e9}\u{1d7d8}\u{202e}\u{fffe}";

#[test]
fn nothing_written_breaks_a_report() {
    let name = "a b/%41,c=d:e'&[\u{e9}].gtt";
    let order = format!(
        "{RIGHT}\norder {HOSTILE} \"{HOSTILE}\"\n  {HOSTILE}\n  \u{1}rout\u{1b}[31m central\n  drug {HOSTILE}\r  note \"x\"\n::error::y\n"
    );
    let folder = Folder::new(&[("gutta.toml", ""), ("reference.gtt", REFERENCE)]);
    folder.write(name, order.replace("reference", "../reference").as_bytes());
    let count = folder.run(&["check", "--all", "--format", "json"]).json()["findings"]
        .as_array()
        .unwrap()
        .len();
    assert!(count >= 5, "{count}");
    let [sarif, junit, github, gitlab] =
        FORMATS.map(|format| report(&folder, "hostile", format, &["--all"]));
    for ran in [&sarif, &junit, &github, &gitlab] {
        let wild = |c: char| c.is_control() && c != '\n' || "\u{202e}\u{fffe}".contains(c);
        assert!(!ran.out.contains(wild), "{}", ran.out);
    }
    assert_eq!(results(&sarif).len(), count);
    let uri = &results(&sarif)[0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "a%20b/%2541%2Cc%3Dd%3Ae%27%26%5B%C3%A9%5D.gtt");
    assert!(sarif.out.contains("{{0}}[x] (y)"), "{}", sarif.out);
    assert!(!junit.out.contains("]]>") && junit.out.contains("]]&gt;"));
    assert_eq!(github.out.lines().count(), count);
    let file = ",file=a b/%2541%2Cc=d%3Ae'&[\u{e9}].gtt,line=";
    for line in github.out.lines() {
        assert!(line.starts_with("::") && line.contains(file), "{line}");
    }
    assert_eq!(gitlab.json().as_array().unwrap().len(), count);
    assert_eq!(gitlab.json()[0]["location"]["path"], name);
}

/// In the log of a run, a line that begins with `::` is a command.
#[cfg(unix)]
#[test]
fn a_file_may_be_called_anything() {
    let name = "a\n::error::b\u{1b}[31m\u{202e}.gtt";
    let folder = Folder::with_order(RIGHT);
    folder.write(name, WRONG.as_bytes());
    for words in [
        &["check"][..],
        &["check", "--format", "concise"],
        &["derive"],
    ] {
        let ran = folder.run(words);
        assert!(
            ran.out
                .contains("a<U+000A>::error::b<U+001B>[31m<U+202E>.gtt:"),
            "{}",
            ran.out
        );
        assert!(!ran.out.contains("\n::"), "{}", ran.out);
    }
    for format in FORMATS {
        report(&folder, "called", format, &[]);
    }
    folder.write("gutta.toml", b"exclude = [\"a*\"]\n");
    let ran = folder.run(&["check", name]);
    let said = "gutta: a<U+000A>::error::b<U+001B>[31m<U+202E>.gtt is excluded by gutta.toml\n";
    assert_eq!(ran.err, said);
}

/// SARIF's `unicodeCodePoints`: neither bytes, nor UTF-16, nor columns on the
/// screen.
#[test]
fn columns_count_characters_and_gitlab_has_none() {
    // Two bytes; four bytes and two units of UTF-16; two characters for one sign.
    let before = "# \u{e9} \u{1d7d8} e\u{301}";
    let order = RIGHT
        .replace("  mix        4 mg", "  mix     4mg")
        .replace("single strength\"", "\u{e9}\u{1d7d8}e\u{301}\"  4mg");
    let folder = Folder::with_order(&format!("{before}\r\n{order}"));
    let line = order.lines().find(|line| line.ends_with("4mg")).unwrap();
    let column = line.find("4mg").map(|at| line[..at].chars().count() + 1);
    let sarif = report(&folder, "columns", "sarif", &["--all"]);
    assert_eq!(sarif.json()["runs"][0]["columnKind"], "unicodeCodePoints");
    let regions: Vec<_> = results(&sarif)
        .iter()
        .map(|result| result["locations"][0]["physicalLocation"]["region"].clone())
        .filter(|region| region["startLine"] == 4)
        .collect();
    let at = |region: &&Value| region["startColumn"].as_u64() == column.map(|at| at as u64);
    let region = regions.iter().find(at);
    let region = region.unwrap_or_else(|| panic!("{column:?} in {regions:?}"));
    let position = format!("order.gtt:4:{}: ", region["startColumn"]);
    let junit = report(&folder, "columns", "junit", &["--all"]);
    assert!(junit.out.contains(&position), "{}", junit.out);
    let github = report(&folder, "columns", "github", &["--all"]);
    let position = format!(
        ",line=4,endLine=4,col={},endColumn={}::",
        region["startColumn"], region["endColumn"]
    );
    assert!(github.out.contains(&position), "{}", github.out);
    let gitlab = report(&folder, "columns", "gitlab", &["--all"]);
    assert!(!gitlab.out.contains("column"), "{}", gitlab.out);
}

#[test]
fn files_are_named_from_the_current_folder() {
    let folder = Folder::with_order(RIGHT);
    folder.write("icu/a.gtt", WRONG.replace("\"ref", "\"../ref").as_bytes());
    let ran = folder.run_in("icu", &["check", "a.gtt", "--format", "gitlab"]);
    assert_eq!(ran.json()[0]["location"]["path"], "a.gtt");
    let here = fingerprints(&ran);
    let there = folder.run(&["check", "icu/a.gtt", "--format", "gitlab"]);
    assert_eq!(there.json()[0]["location"]["path"], "icu/a.gtt");
    assert_eq!(here, fingerprints(&there), "wherever one stands");
}
