//! What a message is: a request, an answer, or nothing that the protocol
//! knows.

use serde::Deserialize;
use serde_json::{Value, json};
use tower_lsp::jsonrpc::{Request, Response};

/// The protocol's `ParseError`.
pub(super) const PARSE_ERROR: i64 = -32700;

/// The protocol's `InvalidRequest`.
pub(super) const INVALID_REQUEST: i64 = -32600;

/// A message, taken for what it is.
#[derive(Debug)]
pub(super) enum Message {
    /// A request or a notification.
    Request(Request),
    /// An answer to what the client was asked.
    Response(Response),
    /// Nothing that can be taken: what is answered, to which id, and why.
    Refused { id: Value, why: String },
    /// An answer that cannot be read: nothing is answered to it.
    Passed(String),
}

/// What the value is; of several messages in one, each for itself.
pub(super) fn messages(value: Value) -> Vec<Message> {
    let Value::Array(batch) = value else {
        return vec![message(value)];
    };
    let why = "Several messages in one are not part of the protocol: send each by itself.";
    let asked = batch.iter().filter(|one| one.get("method").is_some());
    let ids: Vec<_> = asked.filter_map(|one| one.get("id")).map(echo).collect();
    if ids.is_empty() {
        return vec![refused(Value::Null, why)];
    }
    ids.into_iter().map(|id| refused(id, why)).collect()
}

fn message(mut value: Value) -> Message {
    let id = value.get("id").map_or(Value::Null, echo);
    if !value.is_object() {
        return refused(id, "A message is an object.");
    }
    if value.get("jsonrpc") != Some(&json!("2.0")) {
        return refused(id, "A message says `\"jsonrpc\": \"2.0\"`.");
    }
    match value.get("method") {
        Some(Value::String(method)) => {
            // They take none, and some clients send an empty object.
            if ["shutdown", "exit"].contains(&method.as_str())
                && let Some(whole) = value.as_object_mut()
            {
                whole.remove("params");
            }
            if let Some(given) = value.get("id")
                && !(given.is_i64() || given.is_string() || given.is_null())
            {
                return refused(id, "An id is a whole number or a text.");
            }
            match Request::deserialize(value) {
                Ok(request) => Message::Request(request),
                Err(error) => refused(id, &format!("A request cannot be read ({error}).")),
            }
        }
        Some(_) => refused(id, "A method is a text."),
        None if value.get("result").is_some() || value.get("error").is_some() => {
            match Response::deserialize(value) {
                Ok(response) => Message::Response(response),
                Err(error) => Message::Passed(format!("An answer cannot be read ({error}).")),
            }
        }
        None => refused(id, "A message has a method, a result or an error."),
    }
}

fn refused(id: Value, why: &str) -> Message {
    let why = why.to_owned();
    Message::Refused { id, why }
}

/// The id as it is answered to: what is no id cannot be.
fn echo(id: &Value) -> Value {
    match id {
        Value::Number(_) | Value::String(_) => id.clone(),
        _ => Value::Null,
    }
}

/// An error, as it is answered.
pub(super) fn error(id: &Value, code: i64, why: &str) -> Value {
    json!({ "jsonrpc": "2.0", "id": id, "error": { "code": code, "message": why } })
}
