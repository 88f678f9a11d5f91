//! What the server sends of its own accord.
//!
//! Notifications go out in order. A request of the server's is never waited
//! for by anything else: a client may leave it unanswered.

use std::time::Duration;

use tokio::runtime::Handle;
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    Diagnostic, MessageType, NumberOrString, ProgressParams, ProgressParamsValue, Registration,
    Unregistration, Url, WorkDoneProgress, WorkDoneProgressBegin, WorkDoneProgressCreateParams,
    WorkDoneProgressEnd, WorkDoneProgressReport, notification, request,
};

use super::to_proto::seen;

/// So long a client has to answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// The way out.
#[derive(Clone, Debug)]
pub(super) struct Outgoing {
    client: Client,
    notes: UnboundedSender<Note>,
    runtime: Handle,
}

#[derive(Debug)]
enum Note {
    Diagnostics(Url, Vec<Diagnostic>, Option<i32>),
    Log(MessageType, String),
    Show(String),
}

/// What a client can be asked to fetch again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Refresh {
    Diagnostics,
    Hints,
    Lenses,
    Tokens,
}

impl Outgoing {
    pub(super) fn new(client: Client, runtime: Handle) -> Self {
        let (notes, mut inbox) = unbounded_channel();
        let speaker = client.clone();
        runtime.spawn(async move {
            while let Some(note) = inbox.recv().await {
                match note {
                    Note::Diagnostics(url, found, version) => {
                        speaker.publish_diagnostics(url, found, version).await;
                    }
                    Note::Log(level, text) => speaker.log_message(level, text).await,
                    Note::Show(text) => speaker.show_message(MessageType::WARNING, text).await,
                }
            }
        });
        Self {
            client,
            notes,
            runtime,
        }
    }

    pub(super) fn diagnostics(&self, url: Url, found: Vec<Diagnostic>, version: Option<i32>) {
        let _ = self.notes.send(Note::Diagnostics(url, found, version));
    }

    pub(super) fn log_error(&self, text: String) {
        let _ = self.notes.send(Note::Log(MessageType::ERROR, seen(&text)));
    }

    pub(super) fn log_warning(&self, text: String) {
        let _ = self
            .notes
            .send(Note::Log(MessageType::WARNING, seen(&text)));
    }

    /// Shows a warning to the reader.
    pub(super) fn show(&self, text: String) {
        let _ = self.notes.send(Note::Show(seen(&format!("gutta: {text}"))));
    }

    pub(super) fn refresh(&self, what: Refresh) {
        let client = self.client.clone();
        self.runtime.spawn(async move {
            let asked = async {
                match what {
                    Refresh::Diagnostics => client.workspace_diagnostic_refresh().await,
                    Refresh::Hints => client.inlay_hint_refresh().await,
                    Refresh::Lenses => client.code_lens_refresh().await,
                    Refresh::Tokens => client.semantic_tokens_refresh().await,
                }
            };
            let _ = tokio::time::timeout(PATIENCE, asked).await;
        });
    }

    /// Asks for what is registered; where the client refuses, or does not answer,
    /// `refused` is called.
    pub(super) fn register(
        &self,
        registrations: Vec<Registration>,
        refused: impl FnOnce() + Send + 'static,
    ) {
        let client = self.client.clone();
        self.runtime.spawn(async move {
            let asked = client.register_capability(registrations);
            if !matches!(tokio::time::timeout(PATIENCE, asked).await, Ok(Ok(()))) {
                refused();
            }
        });
    }

    pub(super) fn unregister(&self, gone: Vec<Unregistration>) {
        let client = self.client.clone();
        self.runtime.spawn(async move {
            let asked = client.unregister_capability(gone);
            let _ = tokio::time::timeout(PATIENCE, asked).await;
        });
    }

    /// Asks for the section of the settings, and hands on the answer.
    pub(super) fn configuration(
        &self,
        section: &'static str,
        then: impl FnOnce(serde_json::Value) + Send + 'static,
    ) {
        let client = self.client.clone();
        self.runtime.spawn(async move {
            let item = tower_lsp::lsp_types::ConfigurationItem {
                scope_uri: None,
                section: Some(section.to_owned()),
            };
            let asked = client.configuration(vec![item]);
            if let Ok(Ok(values)) = tokio::time::timeout(PATIENCE, asked).await
                && let Some(value) = values.into_iter().next()
            {
                then(value);
            }
        });
    }

    /// Shows that something goes on, until what is returned is dropped.
    pub(super) fn progress(&self, title: &str) -> Progress {
        let (updates, mut inbox) = unbounded_channel::<(u32, String)>();
        let client = self.client.clone();
        let title = title.to_owned();
        self.runtime.spawn(async move {
            let token = NumberOrString::String("gutta/index".to_owned());
            let asked = client.send_request::<request::WorkDoneProgressCreate>(
                WorkDoneProgressCreateParams {
                    token: token.clone(),
                },
            );
            let granted = tokio::time::timeout(PATIENCE, asked).await;
            if !matches!(granted, Ok(Ok(()))) {
                return;
            }
            let say = |value| {
                client.send_notification::<notification::Progress>(ProgressParams {
                    token: token.clone(),
                    value: ProgressParamsValue::WorkDone(value),
                })
            };
            say(WorkDoneProgress::Begin(WorkDoneProgressBegin {
                title,
                cancellable: Some(false),
                message: None,
                percentage: Some(0),
            }))
            .await;
            while let Some((percentage, message)) = inbox.recv().await {
                say(WorkDoneProgress::Report(WorkDoneProgressReport {
                    cancellable: None,
                    message: Some(message),
                    percentage: Some(percentage),
                }))
                .await;
            }
            say(WorkDoneProgress::End(WorkDoneProgressEnd { message: None })).await;
        });
        Progress { updates }
    }
}

/// Something that goes on, as the client shows it.
#[derive(Debug)]
pub(super) struct Progress {
    updates: UnboundedSender<(u32, String)>,
}

impl Progress {
    pub(super) fn report(&self, percentage: u32, message: String) {
        let _ = self.updates.send((percentage, message));
    }
}
