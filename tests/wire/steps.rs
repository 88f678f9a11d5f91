//! A document that is not what the editor shows, or files that nobody watches:
//! neither is passed over in silence.

use serde_json::{Value, json};

use crate::support::raw::Raw;
use crate::support::{Client, Setup};

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
    for broken in [
        json!([{ "range": { "start": at(-1), "end": at(0) }, "text": "x" }]),
        json!([{ "range": "all of it", "text": "x" }]),
        json!(null),
    ] {
        let mut raw = opened(WRONG);
        found(&raw, true);
        change(&mut raw, &json!(2), &broken);
        let told = raw.wait(|said| said["method"] == "window/showMessage");
        let message = told["params"]["message"].as_str().unwrap();
        assert!(message.contains("could not be applied"), "{message}");
        // Of the text that it had before, nothing is told any more.
        lost(&raw);
        // All of its text, and it is in step again.
        change(&mut raw, &json!(3), &json!([{ "text": WRONG }]));
        found(&raw, true);
    }
}

/// The findings last pushed of the document, once it has any such.
fn lost(raw: &Raw) {
    raw.wait(|said| {
        let found = said["params"]["diagnostics"].as_array();
        let only = found.filter(|found| found.len() == 1);
        let message = only.and_then(|only| only[0]["message"].as_str());
        said["method"] == "textDocument/publishDiagnostics"
            && said["params"]["uri"] == URI
            && message.is_some_and(|message| message.contains("did not arrive completely"))
    });
}

fn hover(raw: &mut Raw, id: i64) -> Value {
    let place = json!({
        "textDocument": { "uri": URI }, "position": { "line": 0, "character": 7 } });
    raw.ask(id, "textDocument/hover", &place);
    raw.wait(|said| said["id"] == id)["result"].clone()
}

/// What came damaged may have been a change of what is open.
#[test]
fn a_gap_behind_a_damaged_message_is_noticed() {
    let at = json!({ "line": 1, "character": 8 });
    let small = json!([{ "range": { "start": at, "end": at }, "text": "\n" }]);
    let change_of = |version: i64| {
        json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": {
            "textDocument": { "uri": URI, "version": version }, "contentChanges": small } })
    };
    let body = change_of(2).to_string();
    for damaged in [
        format!(
            "Content-Length: {}\r\n\r\n{}",
            body.len(),
            body.replace('{', "(")
        ),
        format!("Content-Length: many\r\n\r\n{body}"),
        crate::support::raw::framed(&json!([change_of(2)])),
        crate::support::raw::framed(
            &json!({ "jsonrpc": "2.0", "method": "textDocument/didChange" }),
        ),
    ] {
        let mut raw = opened(WRONG);
        assert!(!hover(&mut raw, 50).is_null());
        raw.send(&damaged);
        // Nothing is missing of this document.
        change(&mut raw, &json!(2), &small);
        assert!(!hover(&mut raw, 51).is_null(), "{damaged}");
        raw.send(&damaged);
        change(&mut raw, &json!(4), &small);
        let told = raw.wait(|said| said["method"] == "window/showMessage");
        let message = told["params"]["message"].as_str().unwrap();
        assert!(message.contains("a change to it is missing"), "{message}");
        lost(&raw);
        assert!(hover(&mut raw, 52).is_null(), "{damaged}");
        change(&mut raw, &json!(5), &small);
        assert!(hover(&mut raw, 53).is_null(), "{damaged}");
        // All of its text, and what follows in the same message.
        let all = json!([{ "text": RIGHT }, { "text": WRONG }, small[0]]);
        change(&mut raw, &json!(9), &all);
        raw.wait(|said| said.to_string().contains("text.unreadable"));
        assert!(!hover(&mut raw, 54).is_null(), "{damaged}");
    }
}

/// Versions that leave some out are no gap while nothing was damaged.
#[test]
fn a_client_that_counts_as_it_likes_is_followed() {
    let mut raw = opened(RIGHT);
    for (version, text, some) in [(7, WRONG, true), (90, RIGHT, false), (91, WRONG, true)] {
        let end = json!({ "line": 9, "character": 0 });
        let start = json!({ "line": 0, "character": 0 });
        let whole = json!([{ "range": { "start": start, "end": end }, "text": text }]);
        change(&mut raw, &json!(version), &whole);
        found(&raw, some);
    }
}

/// What is written to the letter of no version of the protocol is opened.
#[test]
fn an_opening_of_another_form_loses_no_document() {
    for document in [
        json!({ "uri": URI, "languageId": "gutta", "text": WRONG }),
        json!({ "uri": URI, "version": 1, "text": WRONG }),
        json!({ "uri": URI, "languageId": null, "version": "1", "text": WRONG }),
    ] {
        let mut raw = Raw::start();
        raw.notify("textDocument/didOpen", &json!({ "textDocument": document }));
        found(&raw, true);
    }
    let mut raw = Raw::start();
    let document = json!({ "uri": URI, "languageId": "gutta", "version": 1 });
    raw.notify("textDocument/didOpen", &json!({ "textDocument": document }));
    raw.wait(|said| said["method"] == "window/showMessage");
    lost(&raw);
    // Asked as a question, it is answered, and heard.
    let document = json!({ "uri": URI, "languageId": "gutta", "version": 1, "text": WRONG });
    raw.ask(
        9,
        "textDocument/didOpen",
        &json!({ "textDocument": document }),
    );
    let answer = raw.wait(|said| said["id"] == 9);
    assert_eq!(answer["error"]["code"], -32600, "{answer}");
    raw.wait(|said| said.to_string().contains("text.unreadable"));
}

/// No edit is made in a text that is not what the editor shows.
#[test]
fn what_is_out_of_step_is_not_written_into() {
    let drug = "drug ketamine \"Ketamine\"\n  supplied 200 mg in 20 mL\n";
    let ward = "use \"drug.gtt\"\norder a \"A\"\n  drug ketamine\n";
    let mut client = Setup::new([("drug.gtt", drug), ("ward.gtt", ward)]).start();
    client.open("drug.gtt");
    client.open("ward.gtt");
    client.notify(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": client.url("ward.gtt"), "version": 2 },
                "contentChanges": [{ "range": "all" }] }),
    );
    let mut rename = client.place("drug.gtt", "drug ket|amine");
    rename["newName"] = json!("esketamine");
    let refused = client.try_request("textDocument/rename", rename.clone());
    let message = refused.unwrap_err()["message"].to_string();
    assert!(
        message.contains("`ward.gtt` did not arrive completely"),
        "{message}"
    );
    client.close("ward.gtt");
    let edit = client.request("textDocument/rename", rename);
    assert!(edit.to_string().contains("ward.gtt"), "{edit}");
}

/// Who fetches findings is told that they are others, whatever else is open.
#[test]
fn who_fetches_hears_that_a_document_is_out_of_step() {
    let mut client = Setup::new([("a.gtt", RIGHT)]).pulling().start();
    let url = "untitled:one";
    let document = json!({ "uri": url, "languageId": "gutta", "version": 1, "text": WRONG });
    client.notify("textDocument/didOpen", json!({ "textDocument": document }));
    let pull = |client: &mut Client| {
        let params = json!({ "textDocument": { "uri": url } });
        client.request("textDocument/diagnostic", params)["items"].to_string()
    };
    assert!(pull(&mut client).contains("text.unreadable"));
    client.listen(std::time::Duration::from_millis(300));
    client.heard.clear();
    client.notify(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": url, "version": 2 }, "contentChanges": 7 }),
    );
    client.wait_until("it is told to fetch", |client| {
        let mut heard = client.heard.iter();
        heard.any(|heard| heard["method"] == "workspace/diagnostic/refresh")
    });
    assert!(pull(&mut client).contains("did not arrive completely"));
}

/// A client need not wait for the first answer before it goes on.
#[test]
fn a_start_in_one_piece_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().canonicalize().unwrap();
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("a.gtt"), RIGHT).unwrap();
    let root = format!("file://{}", folder.display());
    let url = format!("{root}/a.gtt");
    let document = json!({ "uri": url, "languageId": "gutta", "version": 7, "text": WRONG });
    let initialize = json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize",
        "params": { "rootUri": root, "capabilities": {} } });
    let initialized = json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} });
    let opened = json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen",
        "params": { "textDocument": document } });
    for messages in [
        [&initialize, &initialized, &opened],
        [&initialize, &opened, &initialized],
    ] {
        let mut raw = Raw::silent();
        raw.send(messages.map(crate::support::raw::framed).concat());
        raw.wait(|said| said["id"] == 1);
        raw.wait(|said| {
            said["params"]["version"] == 7 && said.to_string().contains("text.unreadable")
        });
        // And it is that text which holds.
        raw.ask(
            2,
            "textDocument/hover",
            &json!({
            "textDocument": { "uri": url }, "position": { "line": 0, "character": 7 } }),
        );
        assert!(!raw.wait(|said| said["id"] == 2)["result"].is_null());
    }
    std::fs::remove_dir_all(&folder).unwrap();
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

/// One entry that cannot be read costs no other.
#[test]
fn what_is_told_in_lists_is_heard_as_far_as_it_can_be() {
    let files = [("one/a.gtt", RIGHT), ("two/b.gtt", WRONG)];
    let mut client = Setup::new(files).with_folders(&["one"]).start();
    let two = json!({ "uri": client.url("two") });
    let odd = json!({ "uri": "no address", "name": "x" });
    client.notify(
        "workspace/didChangeWorkspaceFolders",
        json!({ "event": { "added": [odd, two], "removed": [] } }),
    );
    let url = client.url("two/b.gtt");
    client.wait_until("the folder is read", |client| {
        client.pushed.contains_key(&url)
    });
    std::fs::write(client.folder.join("two/b.gtt"), RIGHT).unwrap();
    let change = json!({ "uri": url });
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": [{ "uri": 7, "type": 1 }, change] }),
    );
    client.wait_until("the file is read anew", |client| {
        client.pushed[&url]["diagnostics"] == json!([])
    });
    let shown = client
        .heard
        .iter()
        .filter(|heard| heard["method"] == "window/showMessage");
    assert_eq!(shown.count(), 2);
}

/// Many replacements in one change are what they are one by one.
#[test]
fn many_replacements_in_one_change_are_taken() {
    let lines = 3_000;
    let text: String = (0..lines).map(|line| format!("# {line} é\n")).collect();
    let mut client = Setup::new([("a.gtt", text.as_str())]).start();
    client.open("a.gtt");
    assert_eq!(client.findings("a.gtt"), [] as [Value; 0]);
    // From the end, so that each counts in the text before all of them.
    let changes = (0..lines).rev().map(|line| {
        let at = |character: u32| json!({ "line": line, "character": character });
        json!({ "range": { "start": at(0), "end": at(1) }, "text": "x" })
    });
    let changes: Vec<_> = changes.collect();
    client.notify(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": client.url("a.gtt"), "version": 2 },
                "contentChanges": changes }),
    );
    let url = client.url("a.gtt");
    client.wait_until("all is read", |client| {
        let found = client.pushed[&url]["diagnostics"].as_array().unwrap();
        client.pushed[&url]["version"] == 2 && found.len() == lines
    });
}
