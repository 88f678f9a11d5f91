//! Documents as the client opens, changes and closes them: what of it came and
//! can be taken. Where something of a document is lost, what is held is not what
//! the editor shows: nothing more is said of it, until all of its text comes.

use rustc_hash::FxHashMap;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::{
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    MessageType, ShowMessageParams, Url,
};

const OPENED: &str = "textDocument/didOpen";
const CHANGED: &str = "textDocument/didChange";
const CLOSED: &str = "textDocument/didClose";

/// The name under which the server is told that a document is out of step. No
/// client sends it.
pub(super) const LOST: &str = "gutta/outOfStep";

/// What the client has open, as far as it came.
#[derive(Debug, Default)]
pub(super) struct Steps {
    open: FxHashMap<String, Step>,
}

#[derive(Clone, Copy, Debug)]
struct Step {
    /// As the client counted it last, where it can be told.
    version: Option<i64>,
    /// Whether something came since that could not be read, and may have been
    /// a change of it.
    doubted: bool,
}

/// A message, and what is to be said where it could not be taken as it came.
type Taken = (Request, Option<String>);

impl Steps {
    /// Something came that could not be read: it may have been a change of
    /// whatever is open.
    pub(super) fn doubt(&mut self) {
        for step in self.open.values_mut() {
            step.doubted = true;
        }
    }

    /// A message, as it is handed on.
    pub(super) fn take(&mut self, request: Request) -> Taken {
        let taken = match request.method() {
            OPENED => self.opened(&request),
            CHANGED => self.changed(&request),
            CLOSED => self.closed(&request),
            _ => sieved(&request),
        };
        taken.unwrap_or((request, None))
    }

    fn opened(&mut self, request: &Request) -> Option<Taken> {
        let params = request.params()?;
        let uri = uri(params)?;
        let (mended, read) = read::<DidOpenTextDocumentParams>(request);
        if let Err(why) = read {
            return Some(self.lose(&uri, &format!("it could not be opened ({why})")));
        }
        self.hold(uri, params);
        mended.map(|request| (request, None))
    }

    fn changed(&mut self, request: &Request) -> Option<Taken> {
        let Some((params, uri)) = request
            .params()
            .and_then(|params| Some((params, uri(params)?)))
        else {
            // Whichever was meant.
            self.doubt();
            return None;
        };
        let (mended, read) = read::<DidChangeTextDocumentParams>(request);
        let change = match read {
            Ok(change) => change,
            Err(why) => {
                return Some(self.lose(
                    &uri,
                    &format!("a change to it could not be applied ({why})"),
                ));
            }
        };
        let mut changes = change.content_changes.iter();
        let whole = changes.any(|change| change.range.is_none());
        let held = self.open.get(&uri).copied();
        let next = held.and_then(|held| held.version?.checked_add(1));
        if held.is_some_and(|held| held.doubted)
            && !whole
            && (next.is_none() || next != version(params))
        {
            return Some(self.lose(&uri, "a change to it is missing"));
        }
        if whole || held.is_some() {
            self.hold(uri, params);
        }
        mended.map(|request| (request, None))
    }

    fn closed(&mut self, request: &Request) -> Option<Taken> {
        let uri = uri(request.params()?)?;
        self.open.remove(&uri);
        let (mended, _) = read::<DidCloseTextDocumentParams>(request);
        mended.map(|request| (request, None))
    }

    fn hold(&mut self, uri: String, params: &Value) {
        let step = Step {
            version: version(params),
            doubted: false,
        };
        self.open.insert(uri, step);
    }

    fn lose(&mut self, uri: &str, why: &str) -> Taken {
        self.open.remove(uri);
        let said = format!(
            "gutta: the text of {uri} differs from what the editor shows: {why}. None of it is checked; close it and open it again."
        );
        let lost = Request::build(LOST).params(json!({ "uri": uri })).finish();
        (lost, Some(said))
    }
}

/// What is told in lists: one entry that cannot be read must not cost the others.
const LISTS: [(&str, &str); 3] = [
    ("workspace/didChangeWatchedFiles", "/changes"),
    ("workspace/didChangeWorkspaceFolders", "/event/added"),
    ("workspace/didChangeWorkspaceFolders", "/event/removed"),
];

/// The message without the entries that cannot be read, where there are any.
fn sieved(request: &Request) -> Option<Taken> {
    let method = request.method();
    let lists = LISTS.iter().filter(|(own, _)| *own == method);
    let mut params = request.params()?.clone();
    let mut lost = Vec::new();
    for (_, list) in lists {
        let Some(entries) = params.pointer_mut(list).and_then(Value::as_array_mut) else {
            continue;
        };
        entries.retain_mut(|entry| {
            let uri = entry.get("uri").and_then(Value::as_str);
            let is_url = uri.is_some_and(|uri| Url::parse(uri).is_ok());
            if !is_url {
                lost.push(entry.to_string());
            } else if let Some(entry) = entry.as_object_mut() {
                // Neither is needed.
                entry.entry("type").or_insert(json!(2));
                entry.entry("name").or_insert(json!(""));
            }
            is_url
        });
    }
    if lost.is_empty() && !LISTS.iter().any(|(own, _)| *own == method) {
        return None;
    }
    let said = (!lost.is_empty()).then(|| {
        format!(
            "gutta: a message of the editor about files or folders cannot be read, and is ignored: {}",
            lost.join(", ")
        )
    });
    let request = Request::build(method.to_owned()).params(params).finish();
    Some((request, said))
}

/// Whether the message is one of those, which take no answer.
pub(super) fn is_step(request: &Request) -> bool {
    [OPENED, CHANGED, CLOSED].contains(&request.method())
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

/// What the message says; and the message itself, where it is taken otherwise
/// than it came. What only comes back to the client, or says nothing here, keeps
/// no text from being read.
fn read<T: DeserializeOwned>(request: &Request) -> (Option<Request>, serde_json::Result<T>) {
    let mut params = request.params().cloned().unwrap_or_default();
    let read = T::deserialize(&params);
    if read.is_ok() && request.id().is_none() {
        return (None, read);
    }
    let given = version(&params).and_then(|version| i32::try_from(version).ok());
    if let Some(document) = params
        .get_mut("textDocument")
        .and_then(Value::as_object_mut)
    {
        document.insert("version".to_owned(), json!(given.unwrap_or_default()));
        if !document.get("languageId").is_some_and(Value::is_string) {
            document.insert("languageId".to_owned(), json!("gutta"));
        }
    }
    let again = T::deserialize(&params);
    let read = if again.is_ok() { again } else { read };
    let request = Request::build(request.method().to_owned()).params(params);
    (Some(request.finish()), read)
}

fn uri(params: &Value) -> Option<String> {
    let uri = params.pointer("/textDocument/uri")?.as_str()?;
    Some(uri.to_owned())
}

/// The document's version: a whole number, whichever way it is written.
fn version(params: &Value) -> Option<i64> {
    let text = match params.pointer("/textDocument/version")? {
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.clone(),
        _ => return None,
    };
    text.trim_end_matches(".0").parse().ok()
}
