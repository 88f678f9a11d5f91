//! Beginning, settings, folders and documents.

use serde_json::Value;
use tower_lsp::lsp_types::{
    ConfigurationItem, DidChangeTextDocumentParams, DidChangeWorkspaceFoldersParams,
    DidOpenTextDocumentParams, InitializeParams, InitializeResult, Registration, ServerInfo, Url,
};

use super::capabilities::capabilities;
use crate::disk;
use crate::state::{SECTION, Settings};
use crate::text::Encoding;
use crate::wire::abilities::Abilities;
use crate::wire::context::ServerContext;
use crate::wire::greeting::Greeting;
use crate::wire::worker::Worker;
use crate::wire::{ending, watch};

/// What the client is told of the server.
pub(in crate::wire) fn initialize(
    server: &mut ServerContext,
    params: &InitializeParams,
) -> InitializeResult {
    let greeting = Greeting::of(params);
    let abilities = Abilities::of(&greeting.client);
    server.publisher.abilities = abilities;
    let offered = greeting.client.pointer("/general/positionEncodings");
    let offered = offered.and_then(Value::as_array).into_iter().flatten();
    server.state.encoding = Encoding::negotiate(offered.filter_map(Value::as_str));
    if !greeting.options.is_null() {
        configure(server, &greeting.options);
    }
    server.folders = greeting.folders;
    if let Some(process) = greeting.process {
        ending::end_with(process);
    }
    for why in greeting.unusable {
        server.out.log_warning(format!("gutta: {why}"));
    }
    InitializeResult {
        capabilities: capabilities(server.state.encoding, &abilities),
        server_info: Some(ServerInfo {
            name: "gutta".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}

/// The client is ready: the folders are read.
pub(in crate::wire) fn initialized(server: &mut ServerContext, worker: &Worker) {
    let abilities = server.publisher.abilities;
    if abilities.watches {
        let worker = worker.clone();
        server.out.register(vec![watch::registration()], move || {
            watch::watch_here(&worker)
        });
    }
    if abilities.registers_settings {
        let settings = Registration {
            id: "gutta/settings".to_owned(),
            method: "workspace/didChangeConfiguration".to_owned(),
            register_options: serde_json::to_value(ConfigurationItem {
                scope_uri: None,
                section: Some(SECTION.to_owned()),
            })
            .ok(),
        };
        // Where it is refused, settings are those of the start.
        server.out.register(vec![settings], || {});
    }
    ask_settings(server, worker);
    let progress = abilities
        .shows_progress
        .then(|| server.out.progress("Reading orders"));
    for folder in std::mem::take(&mut server.folders) {
        server.state.open_folder(&folder);
    }
    // What was opened before has its repository only now.
    server.state.settle_documents();
    server.watching.begun = true;
    if let Some(progress) = progress {
        let stanzas = server.state.roots().map(|(_, root)| root.checked.waiting());
        server.publisher.begin(progress, stanzas.sum());
    }
}

/// Asks for the settings, where the client can be asked.
pub(in crate::wire) fn ask_settings(server: &mut ServerContext, worker: &Worker) {
    if server.publisher.abilities.configures {
        let worker = worker.clone();
        server.out.configuration(SECTION, move |value| {
            worker.tell(move |server| configure(server, &value));
        });
    }
}

/// Takes settings in; what is wrong in them is told, and changes nothing.
pub(in crate::wire) fn configure(server: &mut ServerContext, value: &Value) {
    match Settings::from_json(value) {
        Ok(settings) if settings != server.state.settings => {
            server.state.settings = settings;
            server.state.set_options();
            server.state.forget_refused();
            server.publisher.all_again(&server.state);
        }
        Ok(_) => {}
        Err(fault) => server.out.log_warning(fault),
    }
}

pub(in crate::wire) fn folders_changed(
    server: &mut ServerContext,
    params: DidChangeWorkspaceFoldersParams,
) {
    for folder in params.event.removed {
        if let Some(path) = disk::path(&folder.uri) {
            server.state.close_folder(&path);
        }
    }
    for folder in params.event.added {
        match disk::path(&folder.uri) {
            Some(path) => server.state.open_folder(&path),
            None => server.out.log_warning(format!(
                "gutta: the folder {} is not on this computer, and is not read",
                folder.uri
            )),
        }
    }
    server.state.settle_documents();
}

pub(in crate::wire) fn opened(server: &mut ServerContext, params: DidOpenTextDocumentParams) {
    let document = params.text_document;
    open(server, &document.uri, document.version, &document.text);
}

fn open(server: &mut ServerContext, url: &Url, version: i32, text: &str) {
    server.state.open(url.clone(), version, text);
    // What was told of the file before had no version.
    if let Some(file) = server.state.file(url) {
        server.publisher.tell_again(file);
    }
}

pub(in crate::wire) fn changed(server: &mut ServerContext, params: DidChangeTextDocumentParams) {
    let document = params.text_document;
    let mut changes = params.content_changes;
    let (url, version) = (document.uri, document.version);
    if !server.state.is_held(&url) {
        // All of its text: it is in step again.
        let Some(whole) = changes.iter().rposition(|change| change.range.is_none()) else {
            return lost(server, url);
        };
        let rest = changes.split_off(whole + 1);
        let whole = changes.pop().map(|change| change.text);
        open(server, &url, version, &whole.unwrap_or_default());
        changes = rest;
    }
    if server.state.change(&url, version, changes) {
        server.publisher.edited = Some(url);
    }
}

/// What is held of a document is not what the client shows.
pub(in crate::wire) fn lost(server: &mut ServerContext, url: Url) {
    let why = format!("gutta: the text of {url} differs from what the editor shows");
    server.out.log_warning(why);
    server.state.lose(url);
}

pub(in crate::wire) fn closed(server: &mut ServerContext, url: &Url) {
    server.state.close(url);
    // It may have been open under another URL than the one it has now.
    if let Some(file) = server.state.file(url) {
        server.publisher.tell_again(file);
    }
}
