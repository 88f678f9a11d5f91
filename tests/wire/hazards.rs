//! What clients do that servers die of.

use std::time::Duration;

use serde_json::{Value, json};

use crate::support::Setup;

const WARD: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  usual dose 0.01 to 0.5 mcg/kg/min

order noradrenaline \"Noradrenaline é𝕏\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  undiluted  50 mL
  run        all at 0.05 mcg/kg/min
  then       stop
";

/// Edits come in bursts, each followed by a question: all are taken in order.
#[test]
fn a_burst_of_edits_keeps_its_order() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.open("a.gtt");
    let mut asked = Vec::new();
    let note = "  note       \"";
    let at = client.text("a.gtt").len();
    client.edit("a.gtt", at..at, &format!("{note}\"\n"));
    for number in 0..300 {
        let at = client.text("a.gtt").rfind('"').unwrap();
        client.edit("a.gtt", at..at, &format!("{number},"));
        let place = client.place("a.gtt", "run|");
        asked.push(client.send("textDocument/hover", place));
    }
    for id in asked {
        client.answer(id).unwrap();
    }
    // What is written behind its end shows which text the server holds.
    let at = client.text("a.gtt").len();
    client.edit("a.gtt", at..at, "  nonsense here\n");
    let found = client.findings("a.gtt");
    let last = client.text("a.gtt").lines().count() - 1;
    let unread = found
        .iter()
        .find(|found| found["code"] == "text.unreadable");
    assert_eq!(unread.unwrap()["range"]["start"]["line"], last);
    let whole = client.request(
        "textDocument/diagnostic",
        json!({ "textDocument": { "uri": client.url("a.gtt") } }),
    );
    let pulled = &whole["items"];
    assert_eq!(pulled.as_array().unwrap().len(), found.len());
}

/// Half of a character comes alone where a client cuts in two what it sends.
#[test]
fn half_a_character_costs_no_message() {
    let text = format!("{WARD}  note       \"a\"\n");
    let mut client = Setup::new([("a.gtt", text.as_str())]).start();
    client.open("a.gtt");
    client.findings("a.gtt");
    let url = client.url("a.gtt");
    let change = |version: i32, line: usize, from: u32, to: u32, text: &str| {
        format!(
            r#"{{"jsonrpc":"2.0","method":"textDocument/didChange","params":{{
                "textDocument":{{"uri":"{url}","version":{version}}},
                "contentChanges":[{{"range":{{"start":{{"line":{line},"character":{from}}},
                "end":{{"line":{line},"character":{to}}}}},"text":"{text}"}}]}}}}"#
        )
    };
    client.write_raw(&change(2, 11, 14, 15, "\\ud835"));
    client.write_raw(&change(3, 9, 20, 24, "5"));
    client.wait_until("the dose behind it is known", |client| {
        let pushed = &client.pushed[&url];
        pushed["version"] == 3 && pushed["diagnostics"].to_string().contains("limit.unusual")
    });
    client.wait_until("it is told", |client| {
        client
            .heard
            .iter()
            .any(|heard| heard.to_string().contains("half a character"))
    });
}

/// What the protocol reserves for itself may be ignored, but not a question.
#[test]
fn an_unknown_request_is_answered() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.notify("$/unknown", json!({}));
    for method in ["$/unknown", "unknown"] {
        let answer = client.try_request(method, json!({}));
        assert_eq!(answer.unwrap_err()["code"], -32601, "{method}");
    }
}

/// A client that never answers what it is asked is served all the same.
#[test]
fn a_silent_client_is_served() {
    let mut setup = Setup::new([("a.gtt", WARD)]);
    setup.answers = false;
    let mut client = setup.start();
    client.open("a.gtt");
    for _ in 0..40 {
        client.replace("a.gtt", "weight 40", "weight 41");
        client.replace("a.gtt", "weight 41", "weight 40");
        let place = client.place("a.gtt", "noradrenaline \"Nor|");
        client.request("textDocument/hover", place);
        client.findings("a.gtt");
    }
    let asked = client
        .heard
        .iter()
        .filter(|heard| heard.get("id").is_some());
    assert!(asked.count() > 0, "the server asked, and went on");
    assert_eq!(client.finish(), Some(0));
}

/// What is cancelled is answered, and what follows is not kept waiting.
#[test]
fn a_cancelled_request_is_answered() {
    let orders: String = (0..3_000)
        .map(|number| WARD.replace("noradrenaline", &format!("d{number}")))
        .collect();
    let mut client = Setup::new([("a.gtt", orders.as_str())]).start();
    client.open("a.gtt");
    // The first reading and check of so much keeps it busy.
    let mut asked = Vec::new();
    for _ in 0..20 {
        let id = client.send("workspace/diagnostic", json!({ "previousResultIds": [] }));
        client.notify("$/cancelRequest", json!({ "id": id }));
        asked.push(id);
    }
    for id in asked {
        if let Err(error) = client.answer(id) {
            assert_eq!(error["code"], -32800, "{error}");
        }
    }
    let place = client.place("a.gtt", "run|");
    client.request("textDocument/hover", place);
}

/// Nonsense is answered with an error, or passed over; the server lives on.
#[test]
fn nonsense_is_survived() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.open("a.gtt");
    let url = client.url("a.gtt");
    client.write_raw("{");
    client.write_raw("[]");
    client.write_raw("{\"jsonrpc\":\"2.0\",\"id\":900,\"method\":\"no/such\"}");
    client.write_raw(
        "{\"jsonrpc\":\"2.0\",\"id\":901,\"method\":\"textDocument/hover\",\"params\":7}",
    );
    client.notify("textDocument/didChange", json!({ "textDocument": 3 }));
    client.notify("no/such", json!({}));
    client.notify(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": "file:///no/such.gtt", "version": 2 },
                "contentChanges": [{ "text": "x" }] }),
    );
    let far = json!({ "line": 4_000_000, "character": 4_000_000 });
    let upside_down = json!({ "start": far, "end": { "line": 0, "character": 0 } });
    for (method, params) in [
        (
            "textDocument/hover",
            json!({ "textDocument": { "uri": url }, "position": far }),
        ),
        (
            "textDocument/hover",
            json!({ "textDocument": { "uri": "untitled:x" }, "position": far }),
        ),
        (
            "textDocument/hover",
            json!({ "textDocument": { "uri": "file:///" }, "position": far }),
        ),
        (
            "textDocument/inlayHint",
            json!({ "textDocument": { "uri": url }, "range": upside_down }),
        ),
        (
            "textDocument/diagnostic",
            json!({ "textDocument": { "uri": "nonsense:" } }),
        ),
    ] {
        // Whatever it is, it is an answer.
        let _ = client.try_request(method, params);
    }
    let version = client.open["a.gtt"].1 + 1;
    client.notify(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": url, "version": version },
                "contentChanges": [{ "range": { "start": far, "end": far }, "text": "\n" }] }),
    );
    client.notify(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": "file:///no" } }),
    );
    let report = client.request(
        "textDocument/diagnostic",
        json!({ "textDocument": { "uri": url } }),
    );
    assert_eq!(report["kind"], "full");
    assert_eq!(client.finish(), Some(0));
}

/// What is not text, or too much of it, is a finding and no end.
#[test]
fn what_is_no_text_is_told() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.open_with("a.gtt", "order a \"A\"\n\0\n");
    let told = |found: &[Value]| {
        found.iter().any(|found| {
            found["message"]
                .as_str()
                .is_some_and(|told| told.contains("NUL"))
        })
    };
    assert!(told(&client.findings("a.gtt")));
    // The way back is an edit like any other.
    client.replace("a.gtt", "\0", "  note \"é\"");
    assert!(!told(&client.findings("a.gtt")));
    client.replace("a.gtt", "\"é\"", "é");
    let found = client.findings("a.gtt");
    assert!(
        found.iter().any(|found| found["code"] == "text.unreadable"),
        "{found:?}"
    );
    // A text that stands in no file is judged as well.
    client.notify(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": "untitled:one", "languageId": "gutta", "version": 1, "text": "order a \"A\"\n  run\n" } }),
    );
    client.wait_until("it is judged", |client| {
        client.pushed.contains_key("untitled:one")
    });
}

/// The server ends when the process that started it does.
#[test]
fn it_does_not_outlive_its_client() {
    let mut child = std::process::Command::new("sleep")
        .arg("1000")
        .spawn()
        .unwrap();
    let mut client = Setup::new([("a.gtt", WARD)]).of_process(child.id()).start();
    client.listen(Duration::from_millis(100));
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(client.end(), Some(1));
}

/// A fault of the server's own is an error for that request alone.
#[test]
#[cfg(debug_assertions)]
fn a_panic_answers_its_request_alone() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.open("a.gtt");
    let before = client.findings("a.gtt");
    for _ in 0..3 {
        let error = client.try_request("gutta/panic", Value::Null).unwrap_err();
        assert_eq!(error["code"], -32603, "{error}");
    }
    client.replace("a.gtt", "0.05", "0.06");
    assert_eq!(client.findings("a.gtt").len(), before.len());
    assert_eq!(client.finish(), Some(0));
}

/// All encodings give the same places.
#[test]
fn the_encoding_is_agreed_upon() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = Setup::new([("a.gtt", WARD)]).encoding(encoding).start();
        assert_eq!(client.capabilities["positionEncoding"], encoding);
        client.open("a.gtt");
        client.replace("a.gtt", "é𝕏\"", "é𝕏\" x");
        let found = client.findings("a.gtt");
        let unread = found
            .iter()
            .find(|found| found["code"] == "text.unreadable")
            .unwrap();
        let wanted = client.position("a.gtt", "é𝕏\" |x");
        assert_eq!(unread["range"]["start"], wanted, "{encoding}");
        client.check("a.gtt", &json!(found));
    }
}
