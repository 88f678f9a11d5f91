//! Which document the parameters of a question name.

use serde_json::Value;
use tower_lsp::lsp_types::{self as lsp, Url};

/// Parameters that name a document.
pub(super) trait Subject: Send + 'static {
    /// None: what came back to be resolved is not what was told.
    fn document(&self) -> Option<Url>;
}

/// Of something to be resolved, as it was told.
fn told(data: Option<&Value>) -> Option<Url> {
    data?.get("uri")?.as_str()?.parse().ok()
}

macro_rules! subjects {
    ($($params:ty: $($field:ident).+;)*) => {
        $(impl Subject for $params {
            fn document(&self) -> Option<Url> {
                Some(self.$($field).+.clone())
            }
        })*
    };
}

macro_rules! to_resolve {
    ($($item:ty;)*) => {
        $(impl Subject for $item {
            fn document(&self) -> Option<Url> {
                told(self.data.as_ref())
            }
        })*
    };
}

to_resolve! {
    lsp::CodeAction;
    lsp::CodeLens;
    lsp::CompletionItem;
    lsp::InlayHint;
}

subjects! {
    lsp::TextDocumentPositionParams: text_document.uri;
    lsp::CallHierarchyIncomingCallsParams: item.uri;
    lsp::CallHierarchyOutgoingCallsParams: item.uri;
    lsp::CallHierarchyPrepareParams: text_document_position_params.text_document.uri;
    lsp::CodeActionParams: text_document.uri;
    lsp::CodeLensParams: text_document.uri;
    lsp::CompletionParams: text_document_position.text_document.uri;
    lsp::DocumentDiagnosticParams: text_document.uri;
    lsp::DocumentFormattingParams: text_document.uri;
    lsp::DocumentHighlightParams: text_document_position_params.text_document.uri;
    lsp::DocumentLinkParams: text_document.uri;
    lsp::DocumentOnTypeFormattingParams: text_document_position.text_document.uri;
    lsp::DocumentRangeFormattingParams: text_document.uri;
    lsp::DocumentSymbolParams: text_document.uri;
    lsp::FoldingRangeParams: text_document.uri;
    lsp::GotoDefinitionParams: text_document_position_params.text_document.uri;
    lsp::HoverParams: text_document_position_params.text_document.uri;
    lsp::InlayHintParams: text_document.uri;
    lsp::ReferenceParams: text_document_position.text_document.uri;
    lsp::RenameParams: text_document_position.text_document.uri;
    lsp::SelectionRangeParams: text_document.uri;
    lsp::SemanticTokensDeltaParams: text_document.uri;
    lsp::SemanticTokensParams: text_document.uri;
    lsp::SemanticTokensRangeParams: text_document.uri;
    lsp::SignatureHelpParams: text_document_position_params.text_document.uri;
}
