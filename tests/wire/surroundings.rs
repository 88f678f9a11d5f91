//! Which text stands for a file, and in which repository, whatever is opened,
//! closed or changed beside it.

use std::time::Duration;

use serde_json::{Value, json};

use crate::support::{Client, Setup};

pub(super) const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 1 mcg/kg/min

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

pump syringe \"Syringe pump\"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
";

pub(super) fn ward(dose: &str, used: &str) -> String {
    format!(
        "use \"{used}\"\n\norder noradrenaline \"Noradrenaline\"\n  drug       noradrenaline\n  \
         patient    weight 40 to 120 kg\n  route      central vein\n  \
         mix        4 mg made up to 50 mL with glucose-5\n  run        all at {dose}\n  then       stop\n"
    )
}

pub(super) fn high() -> String {
    ward("5 mcg/kg/min", "drugs.gtt")
}

pub(super) fn right() -> String {
    ward("0.05 mcg/kg/min", "drugs.gtt")
}

/// So long nothing more is waited for.
pub(super) const QUIET: Duration = Duration::from_millis(400);

pub(super) fn codes(found: &Value) -> Vec<&str> {
    let found = found.as_array().into_iter().flatten();
    found.filter_map(|found| found["code"].as_str()).collect()
}

/// What was last pushed of the URL.
pub(super) fn pushed<'a>(client: &'a Client, url: &str) -> Vec<&'a str> {
    let pushed = client.pushed.get(url);
    pushed.map_or_else(Vec::new, |pushed| codes(&pushed["diagnostics"]))
}

/// Lowers the drug's limit on the disk, which the ward's findings must follow.
pub(super) fn sees_a_lower_limit(client: &mut Client, ward: &str) {
    client.listen(QUIET);
    let lower = DRUGS.replace("above 1 mcg", "above 0.01 mcg");
    write(client, "drugs.gtt", &lower);
    let ward = client.url(ward);
    client.wait_until("the change is seen", |client| {
        pushed(client, &ward).contains(&"limit.never")
    });
}

fn touched(client: &mut Client, paths: &[&str]) {
    let change = |path: &&str| json!({ "uri": client.url(path), "type": 2 });
    let changes: Vec<_> = paths.iter().map(change).collect();
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": changes }),
    );
}

pub(super) fn write(client: &Client, path: &str, text: &str) {
    std::fs::write(client.folder.join(path), text).unwrap();
}

fn pulled(client: &mut Client, path: &str) -> Value {
    let url = client.url(path);
    let report = client.request(
        "textDocument/diagnostic",
        json!({ "textDocument": { "uri": url } }),
    );
    report["items"].clone()
}

/// The URLs of which a fetch of all findings tells, each as often as it does.
fn all(client: &mut Client) -> Vec<String> {
    let report = client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let items = report["items"].as_array().unwrap().iter();
    items
        .map(|item| item["uri"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn a_file_is_one_however_its_url_is_written() {
    let mut client = Setup::new([("icu+ward.gtt", right().as_str()), ("drugs.gtt", DRUGS)]).start();
    let usual = client.url("icu+ward.gtt");
    client.wait_until("it is told as on the disk", |client| {
        !pushed(client, &usual).is_empty()
    });
    let (name, other) = ("icu%2Bward.gtt", client.url("icu%2Bward.gtt"));
    client.open_with(name, &right());
    client.replace(name, "0.05 mcg", "5 mcg");
    assert!(
        client
            .findings(name)
            .iter()
            .any(|found| found["code"] == "limit.never")
    );
    client.wait_until("it is told under one URL alone", |client| {
        pushed(client, &usual).is_empty()
    });
    touched(&mut client, &["icu+ward.gtt", name]);
    client.replace(name, "5 mcg", "7 mcg");
    let found = client.findings(name);
    let never = found.iter().find(|found| found["code"] == "limit.never");
    assert!(
        never.unwrap()["message"]
            .as_str()
            .unwrap()
            .contains("7 mcg")
    );
    client.close(name);
    client.wait_until("the disk holds again", |client| {
        pushed(client, &other).is_empty() && !pushed(client, &usual).is_empty()
    });
    assert!(!pushed(&client, &usual).contains(&"limit.never"));
}

#[test]
fn a_file_belongs_to_the_innermost_repository() {
    let files = [
        ("one/gutta.toml", "[default]\npump = \"syringe\"\n"),
        ("one/drugs.gtt", DRUGS),
        ("one/ward.gtt", &high()),
        ("loose.gtt", "use \"one/drugs.gtt\"\n"),
    ];
    let mut client = Setup::new(files).pulling().start();
    let before = pulled(&mut client, "one/ward.gtt");
    assert!(codes(&before).contains(&"limit.never"));
    touched(&mut client, &["one/ward.gtt", "one/drugs.gtt", "one"]);
    assert_eq!(pulled(&mut client, "one/ward.gtt"), before);
    let ward = client.url("one/ward.gtt");
    let told = all(&mut client);
    assert_eq!(
        told.iter().filter(|url| **url == ward).count(),
        1,
        "{told:?}"
    );
}

#[test]
fn a_folder_in_an_open_folder_is_told_once() {
    let inner = ward("5 mcg/kg/min", "drugs.gtt");
    let files = [
        ("sub/drugs.gtt", DRUGS),
        ("sub/ward.gtt", inner.as_str()),
        ("ward.gtt", &ward("5 mcg/kg/min", "sub/drugs.gtt")),
    ];
    for folders in [["", "sub"], ["sub", ""]] {
        let mut client = Setup::new(files).with_folders(&folders).pulling().start();
        let mut told = all(&mut client);
        told.sort();
        let mut once = told.clone();
        once.dedup();
        assert_eq!(told, once);
        // The outer one still finds what it uses of the inner one.
        let outer = pulled(&mut client, "ward.gtt");
        assert!(codes(&outer).contains(&"limit.never"), "{outer}");
        let symbols = client.request("workspace/symbol", json!({ "query": "glucose-5" }));
        assert_eq!(symbols.as_array().unwrap().len(), 1, "{symbols}");
    }
}

#[test]
fn what_is_excluded_and_used_is_read_as_it_is_open() {
    let files = [
        ("gutta.toml", "exclude = [\"drugs.gtt\"]\n"),
        ("drugs.gtt", &format!("{DRUGS}  what is this\n")),
        ("ward.gtt", &right()),
    ];
    let mut client = Setup::new(files).start();
    client.open("ward.gtt");
    client.open("drugs.gtt");
    client.replace("drugs.gtt", "drug nor", "# one\n# two\ndrug nor");
    let mut params = client.place("ward.gtt", "drug       nor|");
    params["newName"] = json!("epi");
    let edit = client.request("textDocument/rename", params);
    client.check("ward.gtt", &edit);
    let changes = edit["documentChanges"].as_array().unwrap();
    let drugs = client.url("drugs.gtt");
    let own = changes
        .iter()
        .find(|change| change["textDocument"]["uri"] == json!(drugs));
    let own = own.unwrap();
    assert_eq!(own["textDocument"]["version"], 2);
    assert_eq!(own["edits"][0]["range"]["start"]["line"], 2);
    client.replace("drugs.gtt", "above 1 mcg", "above 0.01 mcg");
    let ward = client.url("ward.gtt");
    client.wait_until("the limit in the buffer holds", |client| {
        pushed(client, &ward).contains(&"limit.never")
    });
    client.listen(QUIET);
    assert!(pushed(&client, &drugs).is_empty(), "excluded, and told");
    client.close("drugs.gtt");
    client.wait_until("the limit on the disk holds", |client| {
        !pushed(client, &ward).contains(&"limit.never")
    });
}

#[test]
fn what_is_used_stays_when_it_is_closed() {
    let files = [("drugs.gtt", DRUGS), ("ward.gtt", &high())];
    let mut client = Setup::new(files).with_folders(&[]).start();
    client.open("ward.gtt");
    client.open("drugs.gtt");
    let before = client.findings("ward.gtt");
    client.close("drugs.gtt");
    client.listen(QUIET);
    let found = pulled(&mut client, "ward.gtt");
    assert_eq!(found.as_array().unwrap().len(), before.len(), "{found}");
    assert!(codes(&found).contains(&"limit.never"));
}

#[test]
fn the_order_of_opening_is_all_the_same() {
    let used = ward("5 mcg/kg/min", "../drugs.gtt");
    let files = [("drugs.gtt", DRUGS), ("sub/ward.gtt", used.as_str())];
    let found = [["drugs.gtt", "sub/ward.gtt"], ["sub/ward.gtt", "drugs.gtt"]].map(|order| {
        let mut client = Setup::new(files).with_folders(&[]).start();
        for path in order {
            client.open(path);
            client.findings(path);
        }
        let found = pulled(&mut client, "sub/ward.gtt");
        codes(&found).join(" ")
    });
    assert_eq!(found[0], found[1]);
    assert!(found[0].contains("name.use-outside"));
}

#[test]
fn what_is_ignored_comes_in_by_no_door() {
    let files = [
        (".gitignore", "out/\n"),
        ("gutta.toml", ""),
        ("drugs.gtt", DRUGS),
        ("ward.gtt", &right()),
        ("out/drugs.gtt", "  what is this\n"),
        (".hidden/drugs.gtt", "  what is this\n"),
    ];
    let mut client = Setup::new(files).pulling().start();
    let before = all(&mut client);
    let others = ["out/drugs.gtt", ".hidden/drugs.gtt"];
    touched(&mut client, &[&others[..], &["out", ".hidden"]].concat());
    assert_eq!(all(&mut client), before);
    for path in others {
        client.open(path);
        assert!(codes(&pulled(&mut client, path)).contains(&"text.unreadable"));
        client.close(path);
        assert_eq!(all(&mut client), before);
    }
    // Once nothing passes them over any more, they count.
    write(&client, ".gitignore", "");
    touched(&mut client, &[".gitignore"]);
    assert!(all(&mut client).contains(&client.url("out/drugs.gtt")));
}

#[test]
fn what_the_house_names_is_looked_for_with_each_change() {
    let files = [
        ("gutta.toml", "[default]\npump = \"syringe\"\n"),
        ("drugs.gtt", DRUGS),
        ("ward.gtt", &right()),
    ];
    let mut client = Setup::new(files).start();
    let house = client.url("gutta.toml");
    client.open("drugs.gtt");
    client.findings("drugs.gtt");
    let message = |client: &Client| {
        let pushed = client.pushed.get(&house);
        let first = pushed.map(|pushed| pushed["diagnostics"][0]["message"].clone());
        first.and_then(|message| message.as_str().map(str::to_owned))
    };
    assert_eq!(message(&client), None);
    client.replace("drugs.gtt", "pump syringe", "pump other");
    client.wait_until("it is missed", |client| {
        message(client).is_some_and(|message| message.contains("no pump called `syringe`"))
    });
    client.replace("drugs.gtt", "pump other", "pump syringe");
    client.wait_until("it is there", |client| message(client).is_none());
}

#[test]
fn hints_asked_for_between_two_edits_are_fetched_again() {
    let files = [
        ("gutta.toml", ""),
        ("drugs.gtt", DRUGS),
        ("ward.gtt", &right()),
    ];
    let mut client = Setup::new(files).start();
    for path in ["ward.gtt", "drugs.gtt"] {
        client.open(path);
        client.findings(path);
    }
    let refreshed = |client: &Client| {
        let of_hints = client.heard.iter();
        of_hints
            .filter(|heard| heard["method"] == "workspace/inlayHint/refresh")
            .count()
    };
    client.listen(QUIET);
    let before = refreshed(&client);
    let whole = json!({
        "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 },
    });
    client.burst(|client| {
        client.replace("ward.gtt", "order nora", "order nor");
        let document = json!({ "uri": client.url("ward.gtt") });
        let params = json!({ "textDocument": document, "range": whole });
        client.send("textDocument/inlayHint", params);
        client.replace("drugs.gtt", "4 mg in 4 mL", "2 mg in 4 mL");
    });
    client.wait_until("it is told so", |client| refreshed(client) > before);
}
