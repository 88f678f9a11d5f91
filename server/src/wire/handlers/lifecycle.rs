//! Beginning, settings, folders and documents.

use serde_json::Value;
use tower_lsp::lsp_types::{
    ConfigurationItem, DidChangeTextDocumentParams, DidChangeWorkspaceFoldersParams,
    DidOpenTextDocumentParams, InitializeParams, InitializeResult, Registration, ServerInfo, Url,
};

use crate::disk;
use crate::state::{SECTION, Settings};
use crate::text::Encoding;
use crate::wire::abilities::Abilities;
use crate::wire::capabilities::capabilities;
use crate::wire::greeting::Greeting;
use crate::wire::worker::{Desk, Worker};
use crate::wire::{ending, watch};

/// What the client is told of the server.
pub(in crate::wire) fn initialize(desk: &mut Desk, params: &InitializeParams) -> InitializeResult {
    let greeting = Greeting::of(params);
    let abilities = Abilities::of(&greeting.client);
    desk.publisher.abilities = abilities;
    let offered = greeting.client.pointer("/general/positionEncodings");
    let offered = offered.and_then(Value::as_array).into_iter().flatten();
    desk.state.encoding = Encoding::negotiate(offered.filter_map(Value::as_str));
    if !greeting.options.is_null() {
        configure(desk, &greeting.options);
    }
    desk.folders = greeting.folders;
    if let Some(process) = greeting.process {
        ending::end_with(process);
    }
    for why in greeting.unusable {
        desk.out.log_warning(format!("gutta: {why}"));
    }
    InitializeResult {
        capabilities: capabilities(desk.state.encoding, &abilities),
        server_info: Some(ServerInfo {
            name: "gutta".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}

/// The client is ready: the folders are read.
pub(in crate::wire) fn initialized(desk: &mut Desk, worker: &Worker) {
    let abilities = desk.publisher.abilities;
    if abilities.watches {
        let worker = worker.clone();
        desk.out.register(vec![watch::registration()], move || {
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
        desk.out.register(vec![settings], || {});
    }
    ask_settings(desk, worker);
    let progress = abilities
        .shows_progress
        .then(|| desk.out.progress("Reading orders"));
    for folder in std::mem::take(&mut desk.folders) {
        desk.state.open_folder(&folder);
    }
    // What was opened before has its repository only now.
    desk.state.settle_documents();
    desk.watching.begin(worker.clone());
    if let Some(progress) = progress {
        let stanzas = desk.state.roots().map(|(_, root)| root.checked.waiting());
        desk.publisher.begin(progress, stanzas.sum());
    }
}

/// Asks for the settings, where the client can be asked.
pub(in crate::wire) fn ask_settings(desk: &mut Desk, worker: &Worker) {
    if desk.publisher.abilities.configures {
        let worker = worker.clone();
        desk.out.configuration(SECTION, move |value| {
            worker.tell(move |desk| configure(desk, &value));
        });
    }
}

/// Takes settings in; what is wrong in them is told, and changes nothing.
pub(in crate::wire) fn configure(desk: &mut Desk, value: &Value) {
    match Settings::from_json(value) {
        Ok(settings) if settings != desk.state.settings => {
            desk.state.settings = settings;
            desk.state.set_options();
            desk.state.forget_refused();
            desk.publisher.all_again(&desk.state);
        }
        Ok(_) => {}
        Err(fault) => desk.out.log_warning(fault),
    }
}

pub(in crate::wire) fn folders_changed(desk: &mut Desk, params: DidChangeWorkspaceFoldersParams) {
    for folder in params.event.removed {
        if let Some(path) = disk::path(&folder.uri) {
            desk.state.close_folder(&path);
        }
    }
    for folder in params.event.added {
        match disk::path(&folder.uri) {
            Some(path) => desk.state.open_folder(&path),
            None => desk.out.log_warning(format!(
                "gutta: the folder {} is not on this computer, and is not read",
                folder.uri
            )),
        }
    }
    desk.state.settle_documents();
}

pub(in crate::wire) fn opened(desk: &mut Desk, params: DidOpenTextDocumentParams) {
    let document = params.text_document;
    open(desk, &document.uri, document.version, &document.text);
}

fn open(desk: &mut Desk, url: &Url, version: i32, text: &str) {
    desk.state.open(url.clone(), version, text);
    // What was told of the file before had no version.
    if let Some(file) = desk.state.file(url) {
        desk.publisher.tell_again(file);
    }
}

pub(in crate::wire) fn changed(desk: &mut Desk, params: DidChangeTextDocumentParams) {
    let document = params.text_document;
    let mut changes = params.content_changes;
    let (url, version) = (document.uri, document.version);
    if !desk.state.is_held(&url) {
        // All of its text: it is in step again.
        let Some(whole) = changes.iter().rposition(|change| change.range.is_none()) else {
            return lost(desk, url);
        };
        let rest = changes.split_off(whole + 1);
        let whole = changes.pop().map(|change| change.text);
        open(desk, &url, version, &whole.unwrap_or_default());
        changes = rest;
    }
    if desk.state.change(&url, version, changes) {
        desk.publisher.edited = Some(url);
    }
}

/// What is held of a document is not what the client shows.
pub(in crate::wire) fn lost(desk: &mut Desk, url: Url) {
    let why = format!("gutta: the text of {url} differs from what the editor shows");
    desk.out.log_warning(why);
    desk.state.lose(url);
}

pub(in crate::wire) fn closed(desk: &mut Desk, url: &Url) {
    desk.state.close(url);
    // It may have been open under another URL than the one it has now.
    if let Some(file) = desk.state.file(url) {
        desk.publisher.tell_again(file);
    }
}
