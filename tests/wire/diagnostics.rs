//! Findings: pushed, pulled, and never out of date.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  dosed in   mcg/kg/min
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 1 mcg/kg/min

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL
";

const WARD: &str = "\
use \"drugs.gtt\"

order noradrenaline \"Noradrenaline\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop
";

fn ward() -> Setup {
    Setup::new([("drugs.gtt", DRUGS), ("ward.gtt", WARD)])
}

fn rules(findings: &[Value]) -> Vec<&str> {
    let mut rules: Vec<_> = findings
        .iter()
        .filter_map(|found| found["code"].as_str())
        .collect();
    rules.sort_unstable();
    rules.dedup();
    rules
}

fn pull(client: &mut Client, path: &str, previous: Option<&str>) -> Value {
    let url = client.url(path);
    let mut params = json!({ "textDocument": { "uri": url } });
    if let Some(previous) = previous {
        params["previousResultId"] = json!(previous);
    }
    client.request("textDocument/diagnostic", params)
}

#[test]
fn a_slip_is_told_where_it_stands_with_the_limit_that_it_breaks() {
    let mut client = ward().start();
    client.open("ward.gtt");
    assert!(!rules(&client.findings("ward.gtt")).contains(&"limit.never"));
    client.replace("ward.gtt", "0.05 mcg/kg/min", "5 mcg/kg/min");
    let found = client.findings("ward.gtt");
    let broken = found
        .iter()
        .find(|found| found["code"] == "limit.never")
        .unwrap();
    client.check("ward.gtt", broken);
    assert_eq!(broken["severity"], 1);
    assert_eq!(broken["source"], "gutta");
    let related = &broken["relatedInformation"][0]["location"];
    assert_eq!(related["uri"], client.url("drugs.gtt"));
    assert_eq!(related["range"]["start"]["line"], 5);
    let page = broken["codeDescription"]["href"].as_str().unwrap();
    let page = std::fs::read_to_string(page.strip_prefix("file://").unwrap()).unwrap();
    assert!(page.starts_with("# limit.never"), "{page}");
}

#[test]
fn what_follows_from_one_number_is_told_with_its_cause() {
    let mut client = ward().start();
    client.open("ward.gtt");
    client.replace("ward.gtt", "0.05 mcg/kg/min", "5 mcg/kg/min");
    let found = client.findings("ward.gtt");
    let errors: Vec<_> = found.iter().filter(|one| one["severity"] == 1).collect();
    assert_eq!(errors.len(), 1, "{found:#?}");
    let cause = errors[0];
    client.check("ward.gtt", cause);
    assert_eq!(cause["code"], "limit.never");
    let said = cause["message"].as_str().unwrap();
    let slip = said.find("Likely slip in `5 mcg/kg/min`").unwrap();
    let usual = said.find("So warning limit.unusual: ").unwrap();
    assert!(slip < usual, "{said}");
    let related = cause["relatedInformation"].as_array().unwrap();
    assert_eq!(related.len(), 3, "{related:#?}");
    assert!(!rules(&found).contains(&"limit.unusual"));

    // A client that shows nothing related gets each by itself, as grave as ever.
    let section = "/textDocument/publishDiagnostics";
    let mut client = ward().lacking(section, "relatedInformation").start();
    client.open("ward.gtt");
    client.replace("ward.gtt", "0.05 mcg/kg/min", "5 mcg/kg/min");
    let found = client.findings("ward.gtt");
    for (rule, severity) in [("limit.never", 1), ("limit.slip", 1), ("limit.unusual", 2)] {
        let one = found.iter().find(|one| one["code"] == rule).unwrap();
        assert_eq!(one["severity"], severity, "{rule}");
    }
}

#[test]
fn what_is_graver_than_its_cause_stays_by_itself() {
    let mut client = ward().start();
    client.open("ward.gtt");
    // Beyond the usual and below the never is a warning, and the example that
    // fails with it an error.
    let example = "  then       stop\n  expect     flow 2.63 mL/h at 70 kg";
    client.replace("ward.gtt", "  then       stop", example);
    client.replace("ward.gtt", "0.05 mcg/kg/min", "0.8 mcg/kg/min");
    let found = client.findings("ward.gtt");
    let differs = found.iter().find(|one| one["code"] == "expect.differs");
    assert_eq!(differs.unwrap()["severity"], 1, "{found:#?}");
    let usual = found.iter().find(|one| one["code"] == "limit.unusual");
    assert_eq!(usual.unwrap()["severity"], 2, "{found:#?}");
}

#[test]
fn without_a_folder_of_the_users_own_no_page_is_written_anywhere() {
    let mut client = ward().homeless().start();
    client.open("ward.gtt");
    client.replace("ward.gtt", "0.05 mcg/kg/min", "5 mcg/kg/min");
    let found = client.findings("ward.gtt");
    assert!(rules(&found).contains(&"limit.never"));
    assert!(
        found
            .iter()
            .all(|found| found.get("codeDescription").is_none()),
        "{found:?}"
    );
    let mut names: Vec<_> = std::fs::read_dir(&client.folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    names.sort();
    assert_eq!(names, ["drugs.gtt", "ward.gtt"]);
}

#[test]
fn a_change_of_the_drug_reaches_the_orders_of_other_files() {
    let mut client = ward().start();
    client.open("drugs.gtt");
    client.findings("drugs.gtt");
    client.replace("drugs.gtt", "above 1 mcg/kg/min", "above 0.01 mcg/kg/min");
    let ward = client.url("ward.gtt");
    client.wait_until("the order breaks the new limit", |client| {
        let pushed = client.pushed.get(&ward);
        pushed.is_some_and(|pushed| {
            rules(pushed["diagnostics"].as_array().unwrap()).contains(&"limit.never")
        })
    });
    // A line more above the limit moves the place that the finding points to.
    client.edit("drugs.gtt", 0..0, "# The drugs of the ward.\n");
    client.wait_until("the finding points to the limit's new line", |client| {
        let found = client.pushed[&ward]["diagnostics"].as_array().unwrap();
        let broken = found.iter().find(|found| found["code"] == "limit.never");
        let related = &broken.unwrap()["relatedInformation"][0]["location"];
        related["range"]["start"]["line"] == 6
    });
    client.close("drugs.gtt");
    client.wait_until("what is on the disk holds again", |client| {
        let found = client.pushed[&ward]["diagnostics"].as_array().unwrap();
        !rules(found).contains(&"limit.never")
    });
}

#[test]
fn pulled_findings_are_unchanged_until_they_change() {
    let mut client = ward().pulling().start();
    client.open("ward.gtt");
    let first = pull(&mut client, "ward.gtt", None);
    assert_eq!(first["kind"], "full");
    let id = first["resultId"].as_str().unwrap();
    assert_eq!(pull(&mut client, "ward.gtt", Some(id))["kind"], "unchanged");
    client.replace("ward.gtt", "0.05 mcg", "5 mcg");
    let second = pull(&mut client, "ward.gtt", Some(id));
    assert_eq!(second["kind"], "full");
    assert!(rules(second["items"].as_array().unwrap()).contains(&"limit.never"));
    client.check("ward.gtt", &second);
    let ward = client.url("ward.gtt");
    assert!(!client.pushed.contains_key(&ward), "nothing is told twice");
}

#[test]
fn the_whole_workspace_is_told_open_or_not() {
    let wrong = WARD.replace("0.05 mcg", "5 mcg");
    let mut client = Setup::new([
        ("drugs.gtt", DRUGS),
        ("a/ward.gtt", &wrong.replace("drugs.gtt", "../drugs.gtt")),
    ])
    .pulling()
    .start();
    let report = client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let items = report["items"].as_array().unwrap();
    let ward = client.url("a/ward.gtt");
    let own = items
        .iter()
        .find(|item| item["uri"] == json!(ward))
        .unwrap();
    assert!(rules(own["items"].as_array().unwrap()).contains(&"limit.never"));
    let previous: Vec<_> = items
        .iter()
        .map(|item| json!({ "uri": item["uri"], "value": item["resultId"] }))
        .collect();
    let params = json!({ "previousResultIds": previous });
    let again = client.request("workspace/diagnostic", params);
    for item in again["items"].as_array().unwrap() {
        assert_eq!(item["kind"], "unchanged");
    }
}

#[test]
fn what_happens_outside_the_editor_is_followed() {
    for watches in [true, false] {
        let mut setup = ward();
        setup.watches = watches;
        let mut client = setup.start();
        let ward = client.url("ward.gtt");
        client.open("drugs.gtt");
        client.findings("drugs.gtt");
        let path = client.folder.join("ward.gtt");
        let tell = |client: &mut Client, kind: u8| {
            if watches {
                let changes =
                    json!({ "changes": [{ "uri": client.url("ward.gtt"), "type": kind }] });
                client.notify("workspace/didChangeWatchedFiles", changes);
            }
        };
        let holds = |client: &Client, rule: &str| {
            let pushed = client.pushed.get(&ward);
            pushed.is_some_and(|pushed| {
                rules(pushed["diagnostics"].as_array().unwrap()).contains(&rule)
            })
        };
        std::fs::write(&path, WARD.replace("0.05 mcg", "5 mcg")).unwrap();
        tell(&mut client, 2);
        client.wait_until("the change is seen", |client| holds(client, "limit.never"));
        std::fs::remove_file(&path).unwrap();
        tell(&mut client, 3);
        client.wait_until("the file is gone", |client| {
            client.pushed[&ward]["diagnostics"] == json!([])
        });
        std::fs::write(&path, WARD.replace("0.05 mcg", "5 mcg")).unwrap();
        tell(&mut client, 1);
        client.wait_until("the file is there again", |client| {
            holds(client, "limit.never")
        });
    }
}

#[test]
fn settings_of_the_house_are_followed_and_judged() {
    let mut client = ward().start();
    client.open("ward.gtt");
    client.findings("ward.gtt");
    let house = client.url("gutta.toml");
    let write = |client: &mut Client, text: &str| {
        std::fs::write(client.folder.join("gutta.toml"), text).unwrap();
        let changes = json!({ "changes": [{ "uri": house, "type": 2 }] });
        client.notify("workspace/didChangeWatchedFiles", changes);
    };
    write(&mut client, "colour = 1\n");
    client.wait_until("the unknown key is told", |client| {
        let pushed = client.pushed.get(&house);
        pushed.is_some_and(|pushed| {
            pushed["diagnostics"][0]["message"]
                .as_str()
                .is_some_and(|told| told.contains("colour"))
        })
    });
    write(&mut client, "exclude = [\"ward.gtt\"]\n");
    client.wait_until("it is mended", |client| {
        client.pushed[&house]["diagnostics"] == json!([])
    });
    let ward = client.url("ward.gtt");
    client.wait_until("what is left out is not judged, and says so", |client| {
        let found = &client.pushed[&ward]["diagnostics"];
        found.as_array().unwrap().len() == 1 && found.to_string().contains("left out by `exclude`")
    });
}

#[test]
fn the_session_ends_as_it_should() {
    assert_eq!(ward().start().finish(), Some(0));
    let mut client = ward().start();
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), Some(1), "without `shutdown`");
    // Both at once: whichever is met first.
    let mut client = ward().start();
    client.notify("exit", Value::Null);
    client.hang_up();
    assert_eq!(client.end(), Some(1), "without `shutdown`, and its stream");
    let mut client = ward().start();
    client.hang_up();
    assert_eq!(client.end(), Some(1), "with its stream alone");
    let mut client = ward().start();
    client.request("shutdown", Value::Null);
    client.hang_up();
    assert_eq!(client.end(), Some(0), "with its stream after `shutdown`");
}

/// A client may fetch the findings of what is open, and never those of all
/// files: of these it is told.
#[test]
fn who_fetches_of_documents_alone_hears_of_the_other_files() {
    let broken = WARD.replace("0.05 mcg", "5 mcg");
    let files = [("drugs.gtt", DRUGS), ("ward.gtt", broken.as_str())];
    let mut client = Setup::new(files).pulling().start();
    let ward = client.url("ward.gtt");
    let holds = |client: &Client| {
        let pushed = client.pushed.get(&ward);
        let found = pushed.and_then(|pushed| pushed["diagnostics"].as_array());
        found.is_some_and(|found| rules(found).contains(&"limit.never"))
    };
    let none = |client: &Client| client.pushed[&ward]["diagnostics"] == json!([]);
    client.wait_until("the closed file is told of", holds);
    client.open("ward.gtt");
    client.wait_until("it is left to be fetched", none);
    let found = pull(&mut client, "ward.gtt", None);
    assert!(rules(found["items"].as_array().unwrap()).contains(&"limit.never"));
    client.close("ward.gtt");
    client.wait_until("it is told of again", holds);
    // Who fetches all is told nothing besides.
    let report = client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
    assert!(report.to_string().contains("limit.never"));
    client.wait_until("nothing is told twice", none);
}

#[test]
fn places_in_the_settings_are_counted_as_agreed() {
    let house = "default = { area = \"é𝕏\", colour = \"red\" }\n";
    let before = &house[..house.find("colour").unwrap()];
    let counted = [
        ("utf-8", before.len()),
        ("utf-16", before.encode_utf16().count()),
        ("utf-32", before.chars().count()),
    ];
    for (encoding, column) in counted {
        let files = [("gutta.toml", house), ("drugs.gtt", DRUGS)];
        let mut client = Setup::new(files).encoding(encoding).start();
        let url = client.url("gutta.toml");
        client.wait_until("it is told", |client| client.pushed.contains_key(&url));
        let found = &client.pushed[&url]["diagnostics"][0];
        assert!(found["message"].to_string().contains("colour"), "{found}");
        let start = &found["range"]["start"];
        assert_eq!(start["character"], json!(column), "{encoding}: {found}");
    }
}
