//! The protocol's methods, each handed to its handler on the worker's thread.

use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types as lsp;
use tower_lsp::lsp_types::request::{GotoDeclarationParams, GotoDeclarationResponse};

use super::errors::{failed, refused};
use super::handlers::{
    calls, code_action, completion, diagnostic, files, hints, hover, layout, lenses, lifecycle,
    navigation, overview, rename, shape, signature, symbols, tokens,
};
use super::questions::Until;
use super::work_done::WorkReport;
use super::worker::Worker;

/// The server, as the protocol sees it. It holds nothing itself.
#[derive(Debug)]
pub(super) struct Backend {
    pub(super) worker: Worker,
}

impl Backend {
    pub(super) const fn new(worker: Worker) -> Self {
        Self { worker }
    }

    /// A fault, for the tests.
    #[cfg(debug_assertions)]
    pub(super) async fn panic(&self) -> Result<()> {
        let asked = self.worker.change(|_| panic!("as the test asked"));
        asked.await.map_err(failed)
    }

    /// `gutta/derived`.
    pub(super) async fn derived(
        &self,
        params: lsp::TextDocumentPositionParams,
    ) -> Result<Option<overview::Derived>> {
        self.about(params, overview::answer).await
    }

    /// What is held of a document is not what the client shows.
    pub(super) async fn lost(&self, params: lsp::TextDocumentIdentifier) {
        self.worker
            .tell(move |server| lifecycle::lost(server, params.uri));
    }

    /// How much was done so far.
    pub(super) async fn work(&self) -> Result<WorkReport> {
        self.ask(None, Until::Now, |server| server.done.told())
            .await
    }
}

// A notification's effect is in line before its handler first awaits, so that
// changes stay in order.
#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: lsp::InitializeParams) -> Result<lsp::InitializeResult> {
        let begun = self
            .worker
            .change(move |server| lifecycle::initialize(server, &params));
        begun.await.map_err(failed)
    }

    async fn initialized(&self, _: lsp::InitializedParams) {
        let worker = self.worker.clone();
        self.worker
            .tell(move |server| lifecycle::initialized(server, &worker));
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }

    async fn did_open(&self, params: lsp::DidOpenTextDocumentParams) {
        self.worker.tell(|server| lifecycle::opened(server, params));
    }

    async fn did_change(&self, params: lsp::DidChangeTextDocumentParams) {
        self.worker
            .tell(|server| lifecycle::changed(server, params));
    }

    async fn did_close(&self, params: lsp::DidCloseTextDocumentParams) {
        self.worker
            .tell(move |server| lifecycle::closed(server, &params.text_document.uri));
    }

    async fn did_save(&self, _: lsp::DidSaveTextDocumentParams) {}

    async fn did_change_configuration(&self, params: lsp::DidChangeConfigurationParams) {
        let worker = self.worker.clone();
        self.worker.tell(move |server| {
            // Where it can be asked, the notification is only a hint.
            if server.publisher.abilities.configures {
                lifecycle::ask_settings(server, &worker);
            } else {
                lifecycle::configure(server, &params.settings);
            }
        });
    }

    async fn did_change_workspace_folders(&self, params: lsp::DidChangeWorkspaceFoldersParams) {
        self.worker
            .tell(move |server| lifecycle::folders_changed(server, params));
    }

    async fn did_change_watched_files(&self, params: lsp::DidChangeWatchedFilesParams) {
        self.worker.tell(move |server| {
            files::watched(server, &params.changes);
        });
    }

    async fn code_action(
        &self,
        params: lsp::CodeActionParams,
    ) -> Result<Option<lsp::CodeActionResponse>> {
        self.about_when(Until::CheckedAsIs, params, code_action::answer)
            .await
    }

    async fn code_action_resolve(&self, action: lsp::CodeAction) -> Result<lsp::CodeAction> {
        self.about_when(Until::CheckedAsIs, action, |server, action| {
            code_action::resolve(server, action.clone())
        })
        .await
    }

    async fn completion(
        &self,
        params: lsp::CompletionParams,
    ) -> Result<Option<lsp::CompletionResponse>> {
        self.about(params, completion::answer).await
    }

    async fn completion_resolve(&self, item: lsp::CompletionItem) -> Result<lsp::CompletionItem> {
        self.about(item, |server, item| {
            completion::resolve(server, item.clone())
        })
        .await
    }

    async fn diagnostic(
        &self,
        params: lsp::DocumentDiagnosticParams,
    ) -> Result<lsp::DocumentDiagnosticReportResult> {
        self.about_when(Until::Checked, params, diagnostic::document)
            .await
    }

    async fn workspace_diagnostic(
        &self,
        params: lsp::WorkspaceDiagnosticParams,
    ) -> Result<lsp::WorkspaceDiagnosticReportResult> {
        self.worker.tell(diagnostic::begin);
        // The checks go on in slices, so that other questions come through.
        self.ask(None, Until::Checked, move |server| {
            diagnostic::workspace(server, &params).into()
        })
        .await
    }

    async fn goto_definition(
        &self,
        params: lsp::GotoDefinitionParams,
    ) -> Result<Option<lsp::GotoDefinitionResponse>> {
        self.about(params, navigation::definition).await
    }

    async fn goto_declaration(
        &self,
        params: GotoDeclarationParams,
    ) -> Result<Option<GotoDeclarationResponse>> {
        self.about(params, navigation::declaration).await
    }

    async fn references(&self, params: lsp::ReferenceParams) -> Result<Option<Vec<lsp::Location>>> {
        self.about(params, navigation::references).await
    }

    async fn document_highlight(
        &self,
        params: lsp::DocumentHighlightParams,
    ) -> Result<Option<Vec<lsp::DocumentHighlight>>> {
        self.about(params, navigation::highlight).await
    }

    async fn prepare_rename(
        &self,
        params: lsp::TextDocumentPositionParams,
    ) -> Result<Option<lsp::PrepareRenameResponse>> {
        self.about(params, rename::prepare).await?.map_err(refused)
    }

    async fn rename(&self, params: lsp::RenameParams) -> Result<Option<lsp::WorkspaceEdit>> {
        self.about(params, rename::rename).await?.map_err(refused)
    }

    async fn document_symbol(
        &self,
        params: lsp::DocumentSymbolParams,
    ) -> Result<Option<lsp::DocumentSymbolResponse>> {
        self.about(params, symbols::document).await
    }

    async fn symbol(
        &self,
        params: lsp::WorkspaceSymbolParams,
    ) -> Result<Option<Vec<lsp::SymbolInformation>>> {
        self.ask(None, Until::Now, move |server| {
            Some(symbols::workspace(server, &params))
        })
        .await
    }

    async fn prepare_call_hierarchy(
        &self,
        params: lsp::CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyItem>>> {
        self.about(params, |server, params| {
            calls::prepare(server, &params.text_document_position_params)
        })
        .await
    }

    async fn incoming_calls(
        &self,
        params: lsp::CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyIncomingCall>>> {
        self.about(params, |server, params| {
            calls::incoming(server, &params.item)
        })
        .await
    }

    async fn outgoing_calls(
        &self,
        params: lsp::CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<lsp::CallHierarchyOutgoingCall>>> {
        self.about(params, |server, params| {
            calls::outgoing(server, &params.item)
        })
        .await
    }

    async fn document_link(
        &self,
        params: lsp::DocumentLinkParams,
    ) -> Result<Option<Vec<lsp::DocumentLink>>> {
        self.about(params, shape::links).await
    }

    async fn folding_range(
        &self,
        params: lsp::FoldingRangeParams,
    ) -> Result<Option<Vec<lsp::FoldingRange>>> {
        self.about(params, shape::folds).await
    }

    async fn selection_range(
        &self,
        params: lsp::SelectionRangeParams,
    ) -> Result<Option<Vec<lsp::SelectionRange>>> {
        self.about(params, shape::selections).await
    }

    async fn semantic_tokens_full(
        &self,
        params: lsp::SemanticTokensParams,
    ) -> Result<Option<lsp::SemanticTokensResult>> {
        self.about(params, |server, params| {
            tokens::full(server, params).map(Into::into)
        })
        .await
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: lsp::SemanticTokensDeltaParams,
    ) -> Result<Option<lsp::SemanticTokensFullDeltaResult>> {
        self.about(params, tokens::delta).await
    }

    async fn semantic_tokens_range(
        &self,
        params: lsp::SemanticTokensRangeParams,
    ) -> Result<Option<lsp::SemanticTokensRangeResult>> {
        self.about(params, |server, params| {
            tokens::range(server, params).map(Into::into)
        })
        .await
    }

    async fn formatting(
        &self,
        params: lsp::DocumentFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.about(params, layout::whole).await
    }

    async fn range_formatting(
        &self,
        params: lsp::DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.about(params, layout::range).await
    }

    async fn on_type_formatting(
        &self,
        params: lsp::DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<lsp::TextEdit>>> {
        self.about(params, layout::on_type).await
    }

    async fn will_rename_files(
        &self,
        params: lsp::RenameFilesParams,
    ) -> Result<Option<lsp::WorkspaceEdit>> {
        let (edit, said) = self
            .ask(None, Until::Now, move |server| {
                files::will_rename(server, &params.files)
            })
            .await?;
        // An error to this is shown by no client.
        self.worker
            .tell(move |server| said.into_iter().for_each(|said| server.out.show(said)));
        Ok(edit)
    }

    async fn did_rename_files(&self, params: lsp::RenameFilesParams) {
        self.worker.tell(move |server| {
            let files = params.files.iter();
            let urls = files.flat_map(|file| [&file.old_uri, &file.new_uri]);
            files::changed(server, urls);
        });
    }

    async fn did_create_files(&self, params: lsp::CreateFilesParams) {
        self.worker.tell(move |server| {
            files::changed(server, params.files.iter().map(|file| &file.uri));
        });
    }

    async fn did_delete_files(&self, params: lsp::DeleteFilesParams) {
        self.worker.tell(move |server| {
            files::changed(server, params.files.iter().map(|file| &file.uri));
        });
    }

    async fn inlay_hint(
        &self,
        params: lsp::InlayHintParams,
    ) -> Result<Option<Vec<lsp::InlayHint>>> {
        self.about(params, hints::answer).await
    }

    async fn inlay_hint_resolve(&self, hint: lsp::InlayHint) -> Result<lsp::InlayHint> {
        self.about(hint, |server, hint| hints::resolve(server, hint.clone()))
            .await
    }

    async fn hover(&self, params: lsp::HoverParams) -> Result<Option<lsp::Hover>> {
        self.about(params, hover::answer).await
    }

    async fn code_lens(&self, params: lsp::CodeLensParams) -> Result<Option<Vec<lsp::CodeLens>>> {
        self.about(params, lenses::answer).await
    }

    async fn code_lens_resolve(&self, lens: lsp::CodeLens) -> Result<lsp::CodeLens> {
        self.about(lens, |server, lens| lenses::resolve(server, lens.clone()))
            .await
    }

    async fn signature_help(
        &self,
        params: lsp::SignatureHelpParams,
    ) -> Result<Option<lsp::SignatureHelp>> {
        self.about(params, signature::answer).await
    }
}
