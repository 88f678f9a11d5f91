//! Folders, repositories and settings.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const DRUG: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  with       glucose-5
  never dose above 1 mcg/kg/min

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL
";

fn order(dose: &str, used: &str) -> String {
    format!(
        "use \"{used}\"\n\norder a \"A\"\n  drug noradrenaline\n  patient weight 40 to 120 kg\n  \
         route central vein\n  mix 4 mg made up to 50 mL with glucose-5\n  run all at {dose}\n  then stop\n"
    )
}

fn rules(client: &Client, url: &str) -> Vec<String> {
    let found = client.pushed.get(url).map(|pushed| &pushed["diagnostics"]);
    let found = found.and_then(Value::as_array).into_iter().flatten();
    found
        .filter_map(|found| found["code"].as_str())
        .map(str::to_owned)
        .collect()
}

fn breaks(client: &Client, url: &str) -> bool {
    rules(client, url).iter().any(|rule| rule == "limit.never")
}

fn told(client: &Client, url: &str) -> bool {
    client
        .pushed
        .get(url)
        .is_some_and(|pushed| pushed["diagnostics"] != json!([]))
}

#[test]
fn repositories_below_one_folder_stand_apart() {
    let wrong = order("5 mcg/kg/min", "drugs.gtt");
    let right = order("0.5 mcg/kg/min", "drugs.gtt");
    let mut client = Setup::new([
        ("one/gutta.toml", ""),
        ("one/drugs.gtt", DRUG),
        ("one/ward.gtt", wrong.as_str()),
        ("two/gutta.toml", ""),
        ("two/drugs.gtt", DRUG),
        ("two/ward.gtt", right.as_str()),
        ("loose.gtt", "order x \"X\"\n  run\n"),
    ])
    .start();
    let [one, two, loose] =
        ["one/ward.gtt", "two/ward.gtt", "loose.gtt"].map(|path| client.url(path));
    client.wait_until("all are told", |client| {
        told(client, &one) && told(client, &two) && told(client, &loose)
    });
    assert!(breaks(&client, &one));
    assert!(!breaks(&client, &two));
    // Two drugs of one name in two repositories are not twice the same.
    assert!(
        !rules(&client, &client.url("two/drugs.gtt"))
            .iter()
            .any(|rule| rule == "name.twice")
    );
}

#[test]
fn a_folder_comes_and_goes() {
    let wrong = order("5 mcg/kg/min", "drugs.gtt");
    let other = tempfile::tempdir().unwrap();
    let folder = other.path().canonicalize().unwrap();
    std::fs::write(folder.join("drugs.gtt"), DRUG).unwrap();
    std::fs::write(folder.join("ward.gtt"), &wrong).unwrap();
    let url = format!("file://{}", folder.display());
    let ward = format!("{url}/ward.gtt");
    let mut client = Setup::new([("a.gtt", "order x \"X\"\n  run\n")]).start();
    let event =
        |added: Value, removed: Value| json!({ "event": { "added": added, "removed": removed } });
    let named = json!([{ "uri": url, "name": "other" }]);
    client.notify(
        "workspace/didChangeWorkspaceFolders",
        event(named.clone(), json!([])),
    );
    client.wait_until("the new folder is told", |client| breaks(client, &ward));
    client.notify(
        "workspace/didChangeWorkspaceFolders",
        event(json!([]), named),
    );
    client.wait_until("it is forgotten", |client| !told(client, &ward));
    let own = client.url("a.gtt");
    assert!(told(&client, &own));
}

#[test]
fn a_file_outside_all_folders_finds_what_it_uses() {
    let other = tempfile::tempdir().unwrap();
    let folder = other.path().canonicalize().unwrap();
    std::fs::create_dir(folder.join("reference")).unwrap();
    std::fs::write(folder.join("reference/drugs.gtt"), DRUG).unwrap();
    let ward = format!("file://{}/ward.gtt", folder.display());
    let mut client = Setup::new([("a.gtt", "")]).start();
    let text = order("5 mcg/kg/min", "reference/drugs.gtt");
    client.notify(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": ward, "languageId": "gutta", "version": 1, "text": text } }),
    );
    client.wait_until("its limit is known", |client| breaks(client, &ward));
    client.notify(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": ward } }),
    );
    client.wait_until("it is forgotten once closed", |client| !told(client, &ward));
}

#[test]
fn settings_are_followed() {
    // A review whose day has passed: a warning that hangs on the date.
    let text = order("0.5 mcg/kg/min", "drugs.gtt") + "  review by 2026-12-01\n";
    let mut setup = Setup::new([("drugs.gtt", DRUG), ("a.gtt", text.as_str())]);
    setup.options = json!({ "today": "2026-11-25" });
    let mut client = setup.start();
    client.open("a.gtt");
    client.findings("a.gtt");
    let url = client.url("a.gtt");
    let overdue = |client: &Client| {
        rules(client, &url)
            .iter()
            .any(|rule| rule == "review.overdue")
    };
    assert!(!overdue(&client));
    client.set(json!({ "today": "2027-01-01" }));
    client.wait_until("the day is another", |client| overdue(client));
    client.set(json!({ "today": "2027-01-01", "severity": "error" }));
    client.wait_until("only errors are shown", |client| {
        let found = client.pushed[&url]["diagnostics"].as_array().unwrap();
        found.iter().all(|found| found["severity"] == 1)
    });
    client.set(json!({ "severity": "loud" }));
    client.wait_until("what is not understood is told", |client| {
        client.heard.iter().any(|heard| {
            heard["method"] == "window/logMessage" && heard.to_string().contains("loud")
        })
    });
}

#[test]
fn the_first_index_shows_its_progress() {
    let orders: String = (0..400)
        .map(|number| {
            order("0.5 mcg/kg/min", "drugs.gtt").replace("order a", &format!("order a{number}"))
        })
        .collect();
    let mut client = Setup::new([("drugs.gtt", DRUG), ("a.gtt", orders.as_str())]).start();
    client.wait_until("it has ended", |client| {
        let of_kind = |kind: &str| {
            client.heard.iter().any(|heard| {
                heard["method"] == "$/progress" && heard["params"]["value"]["kind"] == kind
            })
        };
        of_kind("begin") && of_kind("end")
    });
}
