//! What a client says of itself: nothing of it keeps a session from beginning,
//! and it gets what it can take.

use std::time::Duration;

use serde_json::{Value, json};

use crate::support::Setup;
use crate::support::raw::Raw;

const WARD: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

order noradrenaline \"Noradrenaline\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop
";

/// So long nothing more is waited for.
const QUIET: Duration = Duration::from_millis(600);

#[test]
fn a_newer_protocol_keeps_no_session_from_beginning() {
    let odd = json!(["hologram", 99, null, { "a": 1 }]);
    let (_raw, capabilities) = Raw::greeting(&json!({
        "processId": -7,
        "clientInfo": 7,
        "trace": "deafening",
        "locale": ["en"],
        "rootUri": 5,
        "workspaceFolders": [{ "uri": "no address" }, 7, { "uri": "file:///no/such", "name": 3 }],
        "capabilities": {
            "general": { "positionEncodings": ["utf-64", 7, "utf-8"], "markdown": 3 },
            "window": { "workDoneProgress": "now and then", "showMessage": odd },
            "workspace": {
                "workspaceEdit": { "resourceOperations": odd, "failureHandling": "pray" },
                "symbol": { "symbolKind": { "valueSet": odd }, "tagSupport": { "valueSet": odd } },
            },
            "textDocument": {
                "publishDiagnostics": { "tagSupport": { "valueSet": odd } },
                "hover": { "contentFormat": odd },
                "completion": { "completionItem": {
                    "documentationFormat": odd, "tagSupport": { "valueSet": odd },
                    "insertTextModeSupport": { "valueSet": odd },
                }, "completionItemKind": { "valueSet": odd } },
                "signatureHelp": { "signatureInformation": { "documentationFormat": odd } },
                "codeAction": { "codeActionLiteralSupport": { "codeActionKind": { "valueSet": odd } } },
                "documentSymbol": { "symbolKind": { "valueSet": odd }, "tagSupport": { "valueSet": odd } },
                "foldingRange": { "foldingRangeKind": { "valueSet": odd } },
                "rename": { "prepareSupportDefaultBehavior": 99 },
                "semanticTokens": { "formats": odd, "tokenTypes": odd, "requests": 3 },
            },
        },
    }));
    assert_eq!(capabilities["positionEncoding"], "utf-8");
    assert!(capabilities["codeActionProvider"].is_object());
}

#[test]
fn markdown_counts_wherever_it_is_listed() {
    for (formats, kind) in [
        (json!(["hologram", "markdown"]), "markdown"),
        (json!(["plaintext", "markdown"]), "markdown"),
        (json!(["hologram", "plaintext"]), "plaintext"),
        (json!([]), "plaintext"),
    ] {
        let mut client = Setup::new([("a.gtt", WARD)])
            .saying("/textDocument/hover", "contentFormat", formats.clone())
            .start();
        client.open("a.gtt");
        let place = client.place("a.gtt", "run|");
        let hover = client.request("textDocument/hover", place);
        assert_eq!(hover["contents"]["kind"], kind, "{formats}");
    }
}

/// A client that says nothing of itself is asked nothing, and gets nothing that
/// came into the protocol later.
#[test]
fn a_client_that_can_do_nothing_is_served_plainly() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().canonicalize().unwrap();
    std::fs::create_dir_all(&folder).unwrap();
    let root = format!("file://{}", folder.display());
    let url = format!("{root}/a.gtt");
    std::fs::write(folder.join("a.gtt"), WARD).unwrap();
    let (mut raw, capabilities) = Raw::greeting(&json!({ "rootUri": root, "capabilities": {} }));
    assert!(capabilities.get("codeActionProvider").is_none());
    assert_eq!(capabilities["renameProvider"], true);
    raw.notify(
        "textDocument/didOpen",
        &json!({ "textDocument": {
            "uri": url, "languageId": "gutta", "version": 1, "text": WARD } }),
    );
    raw.notify(
        "workspace/didChangeConfiguration",
        &json!({ "settings": { "gutta": { "severity": "error" } } }),
    );
    let document = json!({ "uri": url });
    let line = WARD.lines().position(|line| line.contains("run")).unwrap();
    let at = json!({ "line": line, "character": 17 });
    raw.ask(
        2,
        "textDocument/signatureHelp",
        &json!({ "textDocument": document, "position": at }),
    );
    let help = raw.wait(|said| said["id"] == 2);
    let parameters = &help["result"]["signatures"][0]["parameters"];
    assert!(parameters[0]["label"].is_string(), "{help}");
    raw.ask(
        3,
        "textDocument/documentSymbol",
        &json!({ "textDocument": document }),
    );
    let symbols = raw.wait(|said| said["id"] == 3);
    for symbol in symbols["result"].as_array().unwrap() {
        assert!(symbol["location"].is_object(), "{symbol}");
        assert!(symbol["kind"].as_i64().unwrap() <= 18, "{symbol}");
    }
    raw.ask(
        4,
        "textDocument/codeAction",
        &json!({ "textDocument": document, "range": { "start": at, "end": at },
                 "context": { "diagnostics": [] } }),
    );
    let actions = raw.wait(|said| said["id"] == 4);
    assert!(actions["result"].is_null(), "{actions}");
    raw.quiet(QUIET, |said| {
        assert!(
            said.get("method").is_none() || said.get("id").is_none(),
            "asked: {said}"
        );
    });
}

/// Findings change with other files. Who fetches them, and cannot be told that
/// they are out of date, is pushed to.
#[test]
fn only_who_can_refresh_is_told_to() {
    let refreshed = |heard: &Value| {
        let method = heard["method"].as_str();
        method.is_some_and(|method| method.ends_with("/refresh"))
    };
    let without = |setup: Setup| {
        setup
            .lacking("/workspace/diagnostics", "refreshSupport")
            .lacking("/workspace/inlayHint", "refreshSupport")
            .lacking("/workspace/codeLens", "refreshSupport")
            .lacking("/workspace/semanticTokens", "refreshSupport")
    };
    let files = [("a.gtt", WARD), ("b.gtt", "use \"a.gtt\"\n")];
    let mut client = without(Setup::new(files).pulling()).start();
    assert!(client.capabilities.get("diagnosticProvider").is_none());
    client.open("a.gtt");
    client.findings("a.gtt");
    client.replace("a.gtt", "drug noradrenaline", "drug other");
    client.findings("a.gtt");
    client.listen(QUIET);
    assert!(!client.heard.iter().any(refreshed));
    // One that takes no pushed ones can only fetch.
    let setup = without(Setup::new(files).pulling());
    let mut client = setup.lacking("/textDocument", "publishDiagnostics").start();
    assert!(client.capabilities.get("diagnosticProvider").is_some());
    client.open("a.gtt");
    client.replace("a.gtt", "drug noradrenaline", "drug other");
    client.listen(QUIET);
    assert!(client.pushed.is_empty());
    assert!(!client.heard.iter().any(refreshed));
}

#[test]
fn a_setting_that_is_no_date_is_told() {
    let mut client = Setup::new([("a.gtt", WARD)]).start();
    client.open("a.gtt");
    client.findings("a.gtt");
    client.set(json!({ "today": "yesterday" }));
    client.wait_until("it is told", |client| {
        let mut heard = client.heard.iter();
        heard.any(|heard| heard.to_string().contains("today is written"))
    });
}
