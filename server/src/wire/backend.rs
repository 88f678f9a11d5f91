//! The protocol's methods, each handed to its handler on the worker's thread.

use std::time::Duration;

use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;

use super::handlers::{diagnostic, lifecycle};
use super::worker::{Desk, Failed, Worker};

/// So often it is looked whether the workspace is settled.
const POLL: Duration = Duration::from_millis(10);

/// The server, as the protocol sees it. It holds nothing itself.
#[derive(Debug)]
pub(super) struct Backend {
    worker: Worker,
}

impl Backend {
    pub(super) const fn new(worker: Worker) -> Self {
        Self { worker }
    }

    /// A fault, for the tests.
    #[cfg(debug_assertions)]
    pub(super) async fn panic(&self) -> Result<()> {
        self.ask(|_| panic!("as the test asked")).await
    }

    async fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut Desk) -> T + Send + 'static,
    ) -> Result<T> {
        self.worker.ask(question).await.map_err(failed)
    }
}

fn failed(_: Failed) -> Error {
    Error {
        code: ErrorCode::InternalError,
        message: "gutta failed to answer this; its own fault, and no answer is given".into(),
        data: None,
    }
}

// A notification's effect is in line before its handler first awaits, so that
// changes stay in order.
#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: lsp::InitializeParams) -> Result<lsp::InitializeResult> {
        self.ask(move |desk| lifecycle::initialize(desk, &params))
            .await
    }

    async fn initialized(&self, _: lsp::InitializedParams) {
        let worker = self.worker.clone();
        self.worker
            .tell(move |desk| lifecycle::initialized(desk, &worker));
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_open(&self, params: lsp::DidOpenTextDocumentParams) {
        self.worker.tell(|desk| lifecycle::opened(desk, params));
    }

    async fn did_change(&self, params: lsp::DidChangeTextDocumentParams) {
        self.worker.tell(|desk| lifecycle::changed(desk, params));
    }

    async fn did_close(&self, params: lsp::DidCloseTextDocumentParams) {
        self.worker
            .tell(move |desk| lifecycle::closed(desk, &params.text_document.uri));
    }

    async fn did_save(&self, _: lsp::DidSaveTextDocumentParams) {}

    async fn did_change_configuration(&self, params: lsp::DidChangeConfigurationParams) {
        let worker = self.worker.clone();
        self.worker.tell(move |desk| {
            // Where it can be asked, the notification is only a hint.
            if desk.publisher.abilities.configures {
                lifecycle::ask_settings(desk, &worker);
            } else {
                lifecycle::configure(desk, &params.settings);
            }
        });
    }

    async fn did_change_workspace_folders(&self, params: lsp::DidChangeWorkspaceFoldersParams) {
        let worker = self.worker.clone();
        self.worker
            .tell(move |desk| lifecycle::folders_changed(desk, &worker, params));
    }

    async fn did_change_watched_files(&self, params: lsp::DidChangeWatchedFilesParams) {
        self.worker.tell(move |desk| {
            for change in params.changes {
                if let Ok(path) = change.uri.to_file_path() {
                    desk.state.changed_on_disk(&path);
                }
            }
        });
    }

    async fn diagnostic(
        &self,
        params: lsp::DocumentDiagnosticParams,
    ) -> Result<lsp::DocumentDiagnosticReportResult> {
        self.ask(move |desk| diagnostic::document(desk, &params))
            .await
    }

    async fn workspace_diagnostic(
        &self,
        params: lsp::WorkspaceDiagnosticParams,
    ) -> Result<lsp::WorkspaceDiagnosticReportResult> {
        // The checks go on in slices, so that other questions come through.
        while !self.ask(diagnostic::is_settled).await? {
            tokio::time::sleep(POLL).await;
        }
        self.ask(move |desk| diagnostic::workspace(desk, &params).into())
            .await
    }
}
