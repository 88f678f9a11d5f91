//! The protocol's methods, each handed to its handler on the worker's thread.

use std::time::Duration;

use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;
use tower_lsp::lsp_types::request::{GotoDeclarationParams, GotoDeclarationResponse};

use super::handlers::{
    calls, code_action, completion, diagnostic, files, hints, hover, layout, lenses, lifecycle,
    navigation, overview, rename, shape, signature, symbols, tokens,
};
use super::to_proto;
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

    /// `gutta/derived`.
    pub(super) async fn derived(
        &self,
        params: lsp::TextDocumentPositionParams,
    ) -> Result<Option<overview::Derived>> {
        self.ask(move |desk| overview::answer(desk, &params)).await
    }

    /// What is held of a document is not what the client shows.
    pub(super) async fn lost(&self, params: lsp::TextDocumentIdentifier) {
        self.worker
            .tell(move |desk| lifecycle::lost(desk, params.uri));
    }

    async fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut Desk) -> T + Send + 'static,
    ) -> Result<T> {
        self.worker.ask(question).await.map_err(failed)
    }
}

/// What cannot be done, for a reason that the author can do something about.
fn refused(reason: String) -> Error {
    /// The protocol's `RequestFailed`.
    const REQUEST_FAILED: i64 = -32803;
    Error {
        code: ErrorCode::ServerError(REQUEST_FAILED),
        message: to_proto::seen(&reason).into(),
        data: None,
    }
}

fn failed(why: Failed) -> Error {
    match why {
        Failed::Fault => Error {
            code: ErrorCode::InternalError,
            message: "gutta failed to answer this; its own fault, and no answer is given".into(),
            data: None,
        },
        Failed::TooLong => refused(
            "This would take too long to answer: divide what is asked about, an order of very many phases or runs, say.".to_owned(),
        ),
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
        self.worker
            .tell(move |desk| lifecycle::folders_changed(desk, params));
    }

    async fn did_change_watched_files(&self, params: lsp::DidChangeWatchedFilesParams) {
        self.worker.tell(move |desk| {
            files::watched(desk, &params.changes);
        });
    }

    async fn code_action(
        &self,
        params: lsp::CodeActionParams,
    ) -> Result<Option<lsp::CodeActionResponse>> {
        self.ask(move |desk| code_action::answer(desk, &params))
            .await
    }

    async fn code_action_resolve(&self, action: lsp::CodeAction) -> Result<lsp::CodeAction> {
        self.ask(move |desk| code_action::resolve(desk, action))
            .await
    }

    async fn completion(
        &self,
        params: lsp::CompletionParams,
    ) -> Result<Option<lsp::CompletionResponse>> {
        self.ask(move |desk| completion::answer(desk, &params))
            .await
    }

    async fn completion_resolve(&self, item: lsp::CompletionItem) -> Result<lsp::CompletionItem> {
        self.ask(move |desk| completion::resolve(desk, item)).await
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
        self.ask(diagnostic::begin).await?;
        // The checks go on in slices, so that other questions come through.
        while !self.ask(diagnostic::is_settled).await? {
            tokio::time::sleep(POLL).await;
        }
        self.ask(move |desk| diagnostic::workspace(desk, &params).into())
            .await
    }

    async fn goto_definition(
        &self,
        params: lsp::GotoDefinitionParams,
    ) -> Result<Option<lsp::GotoDefinitionResponse>> {
        self.ask(move |desk| navigation::definition(desk, &params))
            .await
    }

    async fn goto_declaration(
        &self,
        params: GotoDeclarationParams,
    ) -> Result<Option<GotoDeclarationResponse>> {
        self.ask(move |desk| navigation::declaration(desk, &params))
            .await
    }

    async fn references(&self, params: lsp::ReferenceParams) -> Result<Option<Vec<lsp::Location>>> {
        self.ask(move |desk| navigation::references(desk, &params))
            .await
    }

    async fn document_highlight(
        &self,
        params: lsp::DocumentHighlightParams,
    ) -> Result<Option<Vec<lsp::DocumentHighlight>>> {
        self.ask(move |desk| navigation::highlight(desk, &params))
            .await
    }

    async fn prepare_rename(
        &self,
        params: lsp::TextDocumentPositionParams,
    ) -> Result<Option<lsp::PrepareRenameResponse>> {
        self.ask(move |desk| rename::prepare(desk, &params))
            .await?
            .map_err(refused)
    }

    async fn rename(&self, params: lsp::RenameParams) -> Result<Option<lsp::WorkspaceEdit>> {
        self.ask(move |desk| rename::rename(desk, &params))
            .await?
            .map_err(refused)
    }

    async fn document_symbol(
        &self,
        params: lsp::DocumentSymbolParams,
    ) -> Result<Option<lsp::DocumentSymbolResponse>> {
        self.ask(move |desk| symbols::document(desk, &params)).await
    }

    async fn symbol(
        &self,
        params: lsp::WorkspaceSymbolParams,
    ) -> Result<Option<Vec<lsp::SymbolInformation>>> {
        self.ask(move |desk| Some(symbols::workspace(desk, &params)))
            .await
    }

    async fn prepare_call_hierarchy(
        &self,
        params: lsp::CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyItem>>> {
        self.ask(move |desk| calls::prepare(desk, &params.text_document_position_params))
            .await
    }

    async fn incoming_calls(
        &self,
        params: lsp::CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyIncomingCall>>> {
        self.ask(move |desk| calls::incoming(desk, &params.item))
            .await
    }

    async fn outgoing_calls(
        &self,
        params: lsp::CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyOutgoingCall>>> {
        self.ask(move |desk| calls::outgoing(desk, &params.item))
            .await
    }

    async fn document_link(
        &self,
        params: lsp::DocumentLinkParams,
    ) -> Result<Option<Vec<lsp::DocumentLink>>> {
        self.ask(move |desk| shape::links(desk, &params)).await
    }

    async fn folding_range(
        &self,
        params: lsp::FoldingRangeParams,
    ) -> Result<Option<Vec<lsp::FoldingRange>>> {
        self.ask(move |desk| shape::folds(desk, &params)).await
    }

    async fn selection_range(
        &self,
        params: lsp::SelectionRangeParams,
    ) -> Result<Option<Vec<lsp::SelectionRange>>> {
        self.ask(move |desk| shape::selections(desk, &params)).await
    }

    async fn semantic_tokens_full(
        &self,
        params: lsp::SemanticTokensParams,
    ) -> Result<Option<lsp::SemanticTokensResult>> {
        self.ask(move |desk| tokens::full(desk, &params).map(Into::into))
            .await
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: lsp::SemanticTokensDeltaParams,
    ) -> Result<Option<lsp::SemanticTokensFullDeltaResult>> {
        self.ask(move |desk| tokens::delta(desk, &params)).await
    }

    async fn semantic_tokens_range(
        &self,
        params: lsp::SemanticTokensRangeParams,
    ) -> Result<Option<lsp::SemanticTokensRangeResult>> {
        self.ask(move |desk| tokens::range(desk, &params).map(Into::into))
            .await
    }

    async fn formatting(
        &self,
        params: lsp::DocumentFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.ask(move |desk| layout::whole(desk, &params)).await
    }

    async fn range_formatting(
        &self,
        params: lsp::DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.ask(move |desk| layout::range(desk, &params)).await
    }

    async fn on_type_formatting(
        &self,
        params: lsp::DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.ask(move |desk| layout::on_type(desk, &params)).await
    }

    async fn will_rename_files(
        &self,
        params: lsp::RenameFilesParams,
    ) -> Result<Option<lsp::WorkspaceEdit>> {
        self.ask(move |desk| files::will_rename(desk, &params.files))
            .await?
            .map_err(refused)
    }

    async fn did_rename_files(&self, params: lsp::RenameFilesParams) {
        self.worker.tell(move |desk| {
            let files = params.files.iter();
            let urls = files.flat_map(|file| [&file.old_uri, &file.new_uri]);
            files::changed(desk, urls);
        });
    }

    async fn did_create_files(&self, params: lsp::CreateFilesParams) {
        self.worker.tell(move |desk| {
            files::changed(desk, params.files.iter().map(|file| &file.uri));
        });
    }

    async fn did_delete_files(&self, params: lsp::DeleteFilesParams) {
        self.worker.tell(move |desk| {
            files::changed(desk, params.files.iter().map(|file| &file.uri));
        });
    }

    async fn inlay_hint(
        &self,
        params: lsp::InlayHintParams,
    ) -> Result<Option<Vec<lsp::InlayHint>>> {
        self.ask(move |desk| hints::answer(desk, &params)).await
    }

    async fn inlay_hint_resolve(&self, hint: lsp::InlayHint) -> Result<lsp::InlayHint> {
        self.ask(move |desk| hints::resolve(desk, hint)).await
    }

    async fn hover(&self, params: lsp::HoverParams) -> Result<Option<lsp::Hover>> {
        self.ask(move |desk| hover::answer(desk, &params)).await
    }

    async fn code_lens(&self, params: lsp::CodeLensParams) -> Result<Option<Vec<lsp::CodeLens>>> {
        self.ask(move |desk| lenses::answer(desk, &params)).await
    }

    async fn code_lens_resolve(&self, lens: lsp::CodeLens) -> Result<lsp::CodeLens> {
        self.ask(move |desk| lenses::resolve(desk, lens)).await
    }

    async fn signature_help(
        &self,
        params: lsp::SignatureHelpParams,
    ) -> Result<Option<lsp::SignatureHelp>> {
        self.ask(move |desk| signature::answer(desk, &params)).await
    }
}
