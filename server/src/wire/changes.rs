//! Changes of documents that cannot be taken. What is then held is not what the
//! editor shows: nothing more is said of it, until it is whole again.

use serde::Deserialize;
use serde_json::{Value, json};
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::{DidChangeTextDocumentParams, MessageType, ShowMessageParams};

const CHANGED: &str = "textDocument/didChange";

/// A notification, as it is handed on; and what is to be said where it could not
/// be taken as it came.
pub(super) fn in_step(request: Request) -> (Request, Option<String>) {
    if request.method() != CHANGED {
        return (request, None);
    }
    let Some(params) = request.params() else {
        return (request, None);
    };
    let why = match DidChangeTextDocumentParams::deserialize(params) {
        Ok(_) => return (request, None),
        Err(why) => why,
    };
    let mut mended = params.clone();
    if let Some(document) = mended
        .get_mut("textDocument")
        .and_then(Value::as_object_mut)
    {
        let version = document.get("version").and_then(whole).unwrap_or_default();
        document.insert("version".to_owned(), json!(version));
    }
    if DidChangeTextDocumentParams::deserialize(&mended).is_ok() {
        // A version is only given back: the text is what counts.
        return (Request::build(CHANGED).params(mended).finish(), None);
    }
    let Some(uri) = params.pointer("/textDocument/uri").and_then(Value::as_str) else {
        return (request, None);
    };
    let said = format!(
        "gutta: a change of {uri} could not be taken ({why}). Nothing is checked of what the editor shows of it; close it and open it again."
    );
    let closed = json!({ "textDocument": { "uri": uri } });
    let close = Request::build("textDocument/didClose")
        .params(closed)
        .finish();
    (close, Some(said))
}

/// What is shown to the reader.
pub(super) fn shown(said: String) -> Request {
    let message = ShowMessageParams {
        typ: MessageType::ERROR,
        message: said,
    };
    let params = serde_json::to_value(message).unwrap_or_default();
    Request::build("window/showMessage").params(params).finish()
}

/// A whole number, whichever way it is written.
fn whole(value: &Value) -> Option<i32> {
    let text = match value {
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.clone(),
        _ => return None,
    };
    text.trim_end_matches(".0").parse().ok()
}
