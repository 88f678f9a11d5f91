//! Code actions: what is offered, and that its change is right for the text.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const REFERENCE: &str = "\
solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 2 mcg/kg/min
";

const WARD: &str = "\
use \"reference.gtt\"

order press \"Noradrenaline 𝕏 é\"  # 𝕐
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  note       \"𝕏\"
  mix        4.0 mg made up to 50 mL with glucose-5
  run        all at 50 mcg/kg/min  # 𝕏
  then       stop
";

fn ward() -> Setup {
    Setup::new([("reference.gtt", REFERENCE), ("ward.gtt", WARD)])
}

/// What is offered at the first `marked` of the text.
fn actions(client: &mut Client, marked: &str, only: Option<&str>) -> Vec<Value> {
    let at = client.position("ward.gtt", marked);
    let mut context = json!({ "diagnostics": client.findings("ward.gtt") });
    if let Some(only) = only {
        context["only"] = json!([only]);
    }
    let params = json!({
        "textDocument": { "uri": client.url("ward.gtt") },
        "range": { "start": at, "end": at },
        "context": context,
    });
    let answer = client.request("textDocument/codeAction", params);
    client.check("ward.gtt", &answer);
    answer.as_array().unwrap().clone()
}

#[track_caller]
fn titled(actions: &[Value], words: &str) -> Value {
    let title = |action: &&Value| action["title"].as_str().unwrap().contains(words);
    let found = actions.iter().find(title);
    found
        .unwrap_or_else(|| panic!("none has {words}: {actions:#?}"))
        .clone()
}

/// Makes the change in the client's text.
fn make(client: &mut Client, action: &Value) {
    let change = &action["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"]["uri"], client.url("ward.gtt"));
    assert_eq!(change["textDocument"]["version"], client.open["ward.gtt"].1);
    client.check("ward.gtt", &action["edit"]);
    let text = &client.open["ward.gtt"].0;
    let edits: Vec<_> = change["edits"]
        .as_array()
        .unwrap()
        .iter()
        .map(|edit| {
            let byte = |end: &str| text.byte(&edit["range"][end]);
            let new = edit["newText"].as_str().unwrap().to_owned();
            (byte("start")..byte("end"), new)
        })
        .collect();
    for (range, new) in edits.into_iter().rev() {
        client.edit("ward.gtt", range, &new);
    }
}

#[test]
fn a_change_is_made_when_it_is_asked_for() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward().encoding(encoding).start();
        client.open("ward.gtt");
        let found = actions(&mut client, "|4.0 mg", Some("quickfix"));
        let spelt = titled(&found, "Write `4` instead of `4.0`");
        assert!(spelt.get("edit").is_none(), "it is made later");
        assert_eq!(spelt["kind"], "quickfix");
        assert_eq!(spelt["diagnostics"][0]["code"], "text.trailing-zero");
        let spelt = client.request("codeAction/resolve", spelt);
        make(&mut client, &spelt);
        assert!(client.text("ward.gtt").contains("  mix        4 mg made"));
        let found = actions(&mut client, "|all at", None);
        let example = titled(&found, "worked example `expect flow");
        let example = client.request("codeAction/resolve", example);
        make(&mut client, &example);
        let text = client.text("ward.gtt");
        assert!(
            text.contains("  then       stop\n  expect     flow "),
            "{text}"
        );
        let found = client.findings("ward.gtt");
        let wrong = |found: &Value| found["code"].as_str().unwrap().starts_with("expect.d");
        assert!(!found.iter().any(wrong), "{found:#?}");
    }
}

#[test]
fn what_was_made_for_another_text_is_not_made() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let found = actions(&mut client, "|4.0 mg", None);
    let spelt = titled(&found, "Write `4` instead");
    client.edit("ward.gtt", 0..0, "# Above.\n");
    let spelt = client.request("codeAction/resolve", spelt);
    assert!(spelt.get("edit").is_none(), "{spelt}");
}

#[test]
fn old_and_new_dose_stand_in_the_title() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let found = actions(&mut client, "all at |50 mcg/kg/min", Some("quickfix"));
    let slip = titled(&found, "instead of 50 mcg/kg/min");
    // It is told with the breach that it explains: so a client shows it there.
    let told = &slip["diagnostics"][0];
    assert_eq!(told["code"], "limit.never");
    let message = told["message"].as_str().unwrap();
    assert!(message.contains("Likely slip in `50 mcg/kg/min`"), "{slip}");
    assert!(!found.iter().any(|action| {
        action["title"]
            .as_str()
            .unwrap()
            .contains("Waive `limit.never`")
    }));
}

#[test]
fn all_spelling_is_put_right_when_it_is_saved() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let found = actions(&mut client, "|use", Some("source.fixAll"));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0]["kind"], "source.fixAll");
    let all = client.request("codeAction/resolve", found[0].clone());
    make(&mut client, &all);
    assert_eq!(client.text("ward.gtt"), WARD.replace("4.0", "4"));
    assert_eq!(
        actions(&mut client, "|use", Some("source")),
        [json!(null); 0]
    );
}

#[test]
fn a_client_that_asks_once_gets_the_change_at_once() {
    let mut client = ward()
        .lacking("/textDocument/codeAction", "resolveSupport")
        .lacking("/workspace/workspaceEdit", "documentChanges")
        .start();
    client.open("ward.gtt");
    let found = actions(&mut client, "|4.0 mg", Some("quickfix"));
    let spelt = titled(&found, "Write `4` instead");
    let url = client.url("ward.gtt");
    let edit = &spelt["edit"]["changes"][url][0];
    let text = &client.open["ward.gtt"].0;
    let bytes = text.byte(&edit["range"]["start"])..text.byte(&edit["range"]["end"]);
    assert_eq!(
        (&text.as_str()[bytes], &edit["newText"]),
        (".0", &json!(""))
    );
}
