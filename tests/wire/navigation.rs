//! Names, outlines and whatever else leads from one place to another.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const DRUGS: &str = "\
# 𝕏 Tarnwick General
drug noradrenaline \"Noradrénaline 𝕏\"
  also       norepinephrine
  supplied   4 mg in 4 mL
  dosed in   mcg/kg/min
  with       glucose-5

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL
pump syringe \"Syringe pump\"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
";

const WARD: &str = "\
use \"reference/drugs.gtt\"
# é
# 𝕏
order norad-single \"𝕏 Noradrénaline\"  # é
  drug       norepinephrine  # 𝕏
  patient    weight 40 to 120 kg
  mix        4 mg made up to 50 mL with glucose-5
  phase      premier-é
    run      10 mL at 0.05 mcg/kg/min
  phase      second
    run      all at 0.05 mcg/kg/min
  then       stop
  expect     flow 1.5 mL/h at 40 kg in premier-é
set shock \"Shock\"
  include    norad-single
  line       proximal: norad-single
";

fn ward() -> Setup {
    Setup::new([
        ("reference/drugs.gtt", DRUGS),
        ("ward.gtt", WARD),
        ("gutta.toml", "# é\n[default]\npump = \"syringe\"\n"),
    ])
}

/// The texts of the places in an answer, with their files.
fn texts(client: &Client, found: &Value) -> Vec<String> {
    let items = found.as_array().unwrap().iter();
    items
        .map(|item| {
            let url = item["uri"].as_str().or(item["targetUri"].as_str());
            let range = ["range", "targetSelectionRange"]
                .iter()
                .find_map(|key| item.get(key));
            text(client, url.unwrap(), range.unwrap())
        })
        .collect()
}

fn text(client: &Client, url: &str, range: &Value) -> String {
    let text = client.text_of(url).unwrap();
    let at = |position: &Value| {
        let found = (0..=text.as_str().len())
            .filter(|at| text.as_str().is_char_boundary(*at))
            .find(|at| text.position(*at) == *position);
        found.unwrap()
    };
    let name = url.rsplit('/').next().unwrap();
    format!(
        "{name} {}",
        &text.as_str()[at(&range["start"])..at(&range["end"])]
    )
}

/// The text once the edits are made, which are those of one file.
fn edited(client: &Client, url: &str, edits: &Value) -> String {
    let text = client.text_of(url).unwrap();
    let at = |position: &Value| {
        let mut bounds = (0..=text.as_str().len()).filter(|at| text.as_str().is_char_boundary(*at));
        bounds.find(|at| text.position(*at) == *position).unwrap()
    };
    let mut out = text.as_str().to_owned();
    let mut edits: Vec<_> = edits.as_array().unwrap().iter().collect();
    edits.sort_by_key(|edit| at(&edit["range"]["start"]));
    for edit in edits.iter().rev() {
        let bytes = at(&edit["range"]["start"])..at(&edit["range"]["end"]);
        out.replace_range(bytes, edit["newText"].as_str().unwrap());
    }
    out
}

/// Each file's edits of a workspace edit.
fn files(edit: &Value) -> Vec<(&str, &Value)> {
    let changes = edit["documentChanges"].as_array().unwrap().iter();
    changes
        .map(|change| {
            let url = change["textDocument"]["uri"].as_str().unwrap();
            (url, &change["edits"])
        })
        .collect()
}

#[test]
fn a_name_leads_to_what_it_means() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward().encoding(encoding).start();
        client.open("ward.gtt");
        for (method, wanted) in [
            ("definition", "drugs.gtt noradrenaline"),
            ("declaration", "drugs.gtt norepinephrine"),
        ] {
            let place = client.place("ward.gtt", "drug       norepi|nephrine");
            let found = client.request(&format!("textDocument/{method}"), place);
            client.check("ward.gtt", &found);
            assert_eq!(texts(&client, &found), [wanted]);
            let origin = &found[0]["originSelectionRange"];
            let url = client.url("ward.gtt");
            assert_eq!(text(&client, &url, origin), "ward.gtt norepinephrine");
        }
        let place = client.place("ward.gtt", "in premier-|é");
        let found = client.request("textDocument/definition", place);
        assert_eq!(texts(&client, &found), ["ward.gtt premier-é"]);
        let place = client.place("ward.gtt", "ma|de up");
        assert!(client.request("textDocument/definition", place).is_null());
    }
}

#[test]
fn references_are_found_in_every_file() {
    let mut client = ward().start();
    client.open("ward.gtt");
    for (declarations, wanted) in [
        (
            true,
            &[
                "drugs.gtt noradrenaline",
                "drugs.gtt norepinephrine",
                "ward.gtt norepinephrine",
            ][..],
        ),
        (false, &["ward.gtt norepinephrine"]),
    ] {
        let mut params = client.place("ward.gtt", "|norepinephrine");
        params["context"] = json!({ "includeDeclaration": declarations });
        let found = client.request("textDocument/references", params);
        client.check("ward.gtt", &found);
        let mut found = texts(&client, &found);
        found.sort_unstable();
        assert_eq!(found, wanted);
    }
    let place = client.place("ward.gtt", "include    norad-|single");
    let found = client.request("textDocument/documentHighlight", place);
    client.check("ward.gtt", &found);
    let kinds: Vec<_> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["kind"])
        .collect();
    assert_eq!(kinds, [3, 2, 2]);
}

#[test]
fn a_name_is_changed_wherever_it_stands() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let place = client.place("ward.gtt", "with gluc|ose-5");
    let prepared = client.request("textDocument/prepareRename", place.clone());
    client.check("ward.gtt", &prepared);
    assert_eq!(prepared["placeholder"], "glucose-5");
    let mut params = place;
    params["newName"] = json!("dextrose-é");
    let edit = client.request("textDocument/rename", params.clone());
    client.check("ward.gtt", &edit);
    let mut changed = 0;
    for (url, edits) in files(&edit) {
        let before = client.text_of(url).unwrap();
        let after = edited(&client, url, edits);
        assert_eq!(after, before.as_str().replace("glucose-5", "dextrose-é"));
        changed += 1;
    }
    assert_eq!(changed, 2);
    // A version stands where the document is open.
    let versions = edit["documentChanges"].as_array().unwrap().iter();
    let versions: Vec<_> = versions
        .map(|one| &one["textDocument"]["version"])
        .collect();
    assert_eq!(versions, [&Value::Null, &json!(1)]);
    params["newName"] = json!("Dextrose 5");
    let refused = client
        .try_request("textDocument/rename", params)
        .unwrap_err();
    assert_eq!(refused["code"], -32803);
    assert!(
        refused["message"]
            .as_str()
            .unwrap()
            .contains("`Dextrose 5` cannot be a name")
    );
    let place = client.place("ward.gtt", "m|ade up");
    assert!(
        client
            .request("textDocument/prepareRename", place)
            .is_null()
    );
}

#[test]
fn the_houses_default_is_renamed_with_what_it_names() {
    let mut client = ward().start();
    client.open("reference/drugs.gtt");
    let mut params = client.place("reference/drugs.gtt", "pump syr|inge");
    params["newName"] = json!("syringe-pump");
    let edit = client.request("textDocument/rename", params);
    let house = client.url("gutta.toml");
    let files = files(&edit);
    let (_, edits) = files.iter().find(|(url, _)| *url == house).unwrap();
    assert_eq!(
        edited(&client, &house, edits),
        "# é\n[default]\npump = \"syringe-pump\"\n"
    );
    assert_eq!(files.len(), 2);
}

#[test]
fn a_document_has_its_outline_and_the_workspace_its_names() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let document = json!({ "textDocument": { "uri": client.url("ward.gtt") } });
    let found = client.request("textDocument/documentSymbol", document);
    client.check("ward.gtt", &found);
    let names: Vec<_> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["name"])
        .collect();
    assert_eq!(names, ["reference/drugs.gtt", "norad-single", "shock"]);
    let phases = found[1]["children"].as_array().unwrap();
    let names: Vec<_> = phases.iter().map(|one| &one["name"]).collect();
    assert_eq!(names, ["mix", "premier-é", "second"]);
    let found = client.request("workspace/symbol", json!({ "query": "nor" }));
    client.check("ward.gtt", &found);
    let names: Vec<_> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["name"])
        .collect();
    assert_eq!(names, ["norad-single", "noradrenaline", "norepinephrine"]);
    let place = &found[1]["location"];
    let url = place["uri"].as_str().unwrap();
    assert_eq!(
        text(&client, url, &place["range"]),
        "drugs.gtt noradrenaline"
    );
}

#[test]
fn uses_are_links() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let document = json!({ "textDocument": { "uri": client.url("ward.gtt") } });
    let found = client.request("textDocument/documentLink", document);
    client.check("ward.gtt", &found[0]["range"]);
    assert_eq!(found[0]["target"], client.url("reference/drugs.gtt"));
    let url = client.url("ward.gtt");
    assert_eq!(
        text(&client, &url, &found[0]["range"]),
        "ward.gtt reference/drugs.gtt"
    );
}

#[test]
fn what_belongs_together_folds_and_is_selected() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let document = json!({ "textDocument": { "uri": client.url("ward.gtt") } });
    let found = client.request("textDocument/foldingRange", document.clone());
    let found: Vec<_> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|fold| {
            (
                fold["startLine"].as_u64().unwrap(),
                fold["endLine"].as_u64().unwrap(),
            )
        })
        .collect();
    assert_eq!(found, [(1, 2), (3, 12), (7, 8), (9, 10), (13, 15)]);
    let mut params = document;
    params["positions"] = json!([
        client.position("ward.gtt", "0.|05 mcg"),
        client.position("ward.gtt", "Noradré|naline"),
    ]);
    let found = client.request("textDocument/selectionRange", params);
    client.check("ward.gtt", &found);
    let url = client.url("ward.gtt");
    let mut grown = Vec::new();
    let mut one = &found[0];
    while one.is_object() {
        grown.push(text(&client, &url, &one["range"]));
        one = &one["parent"];
    }
    assert_eq!(
        grown[..4],
        [
            "ward.gtt 0.05",
            "ward.gtt 0.05 mcg/kg/min",
            "ward.gtt run      10 mL at 0.05 mcg/kg/min",
            "ward.gtt phase      premier-é\n    run      10 mL at 0.05 mcg/kg/min",
        ]
    );
    assert_eq!(grown.last().unwrap(), &format!("ward.gtt {WARD}"));
    assert_eq!(
        text(&client, &url, &found[1]["range"]),
        "ward.gtt Noradrénaline"
    );
}

#[test]
fn sets_lead_to_orders_and_these_to_drugs() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let place = client.place("ward.gtt", "set sh|ock");
    let set = client.request("textDocument/prepareCallHierarchy", place);
    client.check("ward.gtt", &set);
    assert_eq!(set[0]["name"], "shock");
    let outgoing = |client: &mut Client, item: &Value| {
        let found = client.request("callHierarchy/outgoingCalls", json!({ "item": item }));
        client.check("ward.gtt", &found);
        found[0].clone()
    };
    let incoming = |client: &mut Client, item: &Value| {
        let found = client.request("callHierarchy/incomingCalls", json!({ "item": item }));
        found[0].clone()
    };
    let order = outgoing(&mut client, &set[0]);
    assert_eq!(order["to"]["name"], "norad-single");
    assert_eq!(order["fromRanges"].as_array().unwrap().len(), 2);
    // What has moved since is found again.
    client.edit("ward.gtt", 0..0, "# 𝕏\n");
    let drug = outgoing(&mut client, &order["to"]);
    assert_eq!(drug["to"]["name"], "noradrenaline");
    let back = incoming(&mut client, &drug["to"]);
    client.check("ward.gtt", &back);
    assert_eq!(back["from"]["name"], "norad-single");
    let back = incoming(&mut client, &back["from"]);
    client.check("ward.gtt", &back);
    assert_eq!(back["from"]["name"], "shock");
}

#[test]
fn a_file_that_moves_takes_its_uses_along() {
    let mut client = ward().start();
    client.open("ward.gtt");
    client.findings("ward.gtt");
    let (old, new) = (client.url("reference"), client.url("𝕏"));
    let params = json!({ "files": [{ "oldUri": old, "newUri": new }] });
    let edit = client.request("workspace/willRenameFiles", params.clone());
    client.check("ward.gtt", &edit);
    let files = files(&edit);
    assert_eq!(files.len(), 1);
    let after = edited(&client, files[0].0, files[0].1);
    assert_eq!(after, WARD.replace("reference/drugs.gtt", "𝕏/drugs.gtt"));
    client.replace("ward.gtt", "reference/drugs.gtt", "𝕏/drugs.gtt");
    std::fs::rename(client.folder.join("reference"), client.folder.join("𝕏")).unwrap();
    client.notify("workspace/didRenameFiles", params);
    let resolved = |client: &mut Client| {
        let place = client.place("ward.gtt", "drug       norepi|nephrine");
        let found = client.request("textDocument/definition", place);
        found.is_array()
    };
    assert!(resolved(&mut client), "the names are seen at the new place");
    let gone = client.folder.join("𝕏");
    std::fs::remove_dir_all(&gone).unwrap();
    let url = client.url("𝕏");
    let params = json!({ "files": [{ "uri": url }] });
    client.notify("workspace/didDeleteFiles", params.clone());
    assert!(!resolved(&mut client), "what is deleted is not seen");
    std::fs::create_dir(&gone).unwrap();
    std::fs::write(gone.join("drugs.gtt"), DRUGS).unwrap();
    client.notify("workspace/didCreateFiles", params);
    assert!(resolved(&mut client), "what is made is seen");
}
