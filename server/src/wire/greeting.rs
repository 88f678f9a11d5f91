//! What the client says of itself at the beginning, as it came: a newer
//! protocol may know more of it than the types here, and none of that may keep
//! a session from beginning.

use std::path::PathBuf;

use serde_json::{Value, json};
use tower_lsp::lsp_types::{InitializeParams, Url};

use crate::disk;

/// What is read of it.
#[derive(Debug, Default)]
pub(super) struct Greeting {
    /// The client's process.
    pub(super) process: Option<u32>,
    /// The folders that it has open.
    pub(super) folders: Vec<PathBuf>,
    /// The settings.
    pub(super) options: Value,
    /// What it can do.
    pub(super) client: Value,
    /// What it said and cannot be used, in words.
    pub(super) unusable: Vec<String>,
}

/// The parameters of `initialize`, put where their type takes anything.
pub(super) fn wrapped(params: Value) -> Value {
    if params.is_object() {
        json!({ "capabilities": { "experimental": params } })
    } else {
        params
    }
}

impl Greeting {
    /// From wrapped parameters.
    pub(super) fn of(params: &InitializeParams) -> Self {
        let said = params.capabilities.experimental.as_ref();
        let said = said.unwrap_or(&Value::Null);
        let process = &said["processId"];
        let mut greeting = Self {
            process: process.as_u64().and_then(|id| id.try_into().ok()),
            options: said["initializationOptions"].clone(),
            client: said["capabilities"].clone(),
            ..Self::default()
        };
        if greeting.process.is_none() && !process.is_null() {
            let why = format!("the process {process} is none");
            greeting.unusable.push(why);
        }
        let several = said["workspaceFolders"].as_array();
        for folder in several.into_iter().flatten() {
            greeting.add(&folder["uri"]);
        }
        if several.is_none_or(Vec::is_empty) {
            match (&said["rootUri"], said["rootPath"].as_str()) {
                (Value::Null, Some(path)) => greeting.folders.push(PathBuf::from(path)),
                (Value::Null, None) => {}
                (uri, _) => greeting.add(uri),
            }
        }
        greeting
    }

    fn add(&mut self, uri: &Value) {
        let url = uri.as_str().and_then(|uri| Url::parse(uri).ok());
        match url.as_ref().and_then(disk::path) {
            Some(path) => self.folders.push(path),
            None => {
                let why = format!("the folder {uri} is not on this computer, and is not read");
                self.unusable.push(why);
            }
        }
    }
}
