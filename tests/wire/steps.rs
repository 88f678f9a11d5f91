//! A document that is not what the editor shows, or files that nobody watches:
//! neither is passed over in silence.

use serde_json::{Value, json};

use crate::support::raw::Raw;

const URI: &str = "untitled:one";
const WRONG: &str = "order a \"A\"\n  drog x\n";
const RIGHT: &str = "# nothing\n";

fn opened(text: &str) -> Raw {
    let mut raw = Raw::start();
    let document = json!({ "uri": URI, "languageId": "gutta", "version": 1, "text": text });
    raw.notify("textDocument/didOpen", &json!({ "textDocument": document }));
    raw
}

fn change(raw: &mut Raw, version: &Value, change: &Value) {
    raw.notify(
        "textDocument/didChange",
        &json!({ "textDocument": { "uri": URI, "version": version }, "contentChanges": change }),
    );
}

fn found(raw: &Raw, some: bool) {
    raw.wait(|said| {
        let found = said["params"]["diagnostics"].as_array();
        said["method"] == "textDocument/publishDiagnostics"
            && said["params"]["uri"] == URI
            && found.is_some_and(|found| found.is_empty() != some)
    });
}

#[test]
fn a_version_of_another_form_loses_no_change() {
    for version in [
        json!(null),
        json!(2.0),
        json!("2"),
        json!(8_589_934_592_i64),
    ] {
        let mut raw = opened(RIGHT);
        change(&mut raw, &version, &json!([{ "text": WRONG }]));
        found(&raw, true);
    }
}

#[test]
fn a_change_that_cannot_be_taken_is_told_and_nothing_old_is_judged() {
    let at = |line: i64| json!({ "line": line, "character": 0 });
    for lost in [
        json!([{ "range": { "start": at(-1), "end": at(0) }, "text": "x" }]),
        json!([{ "range": "all of it", "text": "x" }]),
        json!(null),
    ] {
        let mut raw = opened(WRONG);
        found(&raw, true);
        change(&mut raw, &json!(2), &lost);
        let told = raw.wait(|said| said["method"] == "window/showMessage");
        let message = told["params"]["message"].as_str().unwrap();
        assert!(message.contains("could not be taken"), "{message}");
        // Of the text that it had before, nothing is told any more.
        found(&raw, false);
        // All of its text, and it is in step again.
        change(&mut raw, &json!(3), &json!([{ "text": WRONG }]));
        found(&raw, true);
    }
}

#[test]
fn the_ends_of_a_range_may_be_swapped() {
    let at = |character: i64| json!({ "line": 1, "character": character });
    let mut raw = opened("order a \"A\"\n  drog x\n");
    found(&raw, true);
    let range = json!({ "start": at(8), "end": at(0) });
    change(
        &mut raw,
        &json!(2),
        &json!([{ "range": range, "text": "# x" }]),
    );
    raw.ask(
        7,
        "textDocument/foldingRange",
        &json!({ "textDocument": { "uri": URI } }),
    );
    raw.wait(|said| said["id"] == 7);
    raw.ask(
        8,
        "textDocument/formatting",
        &json!({ "textDocument": { "uri": URI }, "options": { "tabSize": 2, "insertSpaces": true } }),
    );
    let answer = raw.wait(|said| said["id"] == 8);
    assert!(!answer.to_string().contains("drog"), "{answer}");
}

#[test]
fn a_shutdown_with_an_empty_object_is_one() {
    let mut raw = Raw::start();
    raw.ask(9, "shutdown", &json!({}));
    let answer = raw.wait(|said| said["id"] == 9);
    assert_eq!(answer["error"], json!(null), "{answer}");
}

/// Where the client refuses to watch, or never answers, changes are looked for
/// here.
#[test]
fn a_client_that_refuses_to_watch_is_no_loss() {
    let folder = std::env::temp_dir().join(format!("gutta-steps-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let used = folder.join("a.gtt");
    std::fs::write(
        &used,
        "solution saline \"S\"\n  contains sodium 0.154 mmol/mL\n",
    )
    .unwrap();
    std::fs::write(folder.join("gutta.toml"), "").unwrap();
    std::fs::write(folder.join("b.gtt"), "use \"a.gtt\"\n").unwrap();
    let url = |path: &str| format!("file://{}/{path}", folder.display());
    let params = json!({
        "capabilities": {
            "workspace": { "didChangeWatchedFiles": { "dynamicRegistration": true } },
            "textDocument": { "publishDiagnostics": {} },
        },
        "workspaceFolders": [{ "uri": url("").trim_end_matches('/'), "name": "x" }],
    });
    let (mut raw, _) = Raw::greeting(&params);
    let asked = raw.wait(|said| said["method"] == "client/registerCapability");
    let refused = json!({ "jsonrpc": "2.0", "id": asked["id"], "error": { "code": -32601, "message": "no" } });
    raw.send(crate::support::raw::framed(&refused));
    raw.wait(|said| {
        let message = said["params"]["message"].as_str();
        message.is_some_and(|message| message.contains("looks by itself"))
    });
    std::fs::remove_file(&used).unwrap();
    raw.wait(|said| {
        said["params"]["uri"]
            .as_str()
            .is_some_and(|uri| uri.ends_with("b.gtt"))
            && said.to_string().contains("name.use-outside")
    });
    std::fs::remove_dir_all(&folder).unwrap();
}
