//! `textDocument/formatting`, `rangeFormatting` and `onTypeFormatting`. How
//! wide an indent is, the notation says, and no editor.

use tower_lsp::lsp_types::{
    DocumentFormattingParams, DocumentOnTypeFormattingParams, DocumentRangeFormattingParams,
    TextEdit,
};

use crate::features::layout::{self, Replacement};
use crate::state::FileRef;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;

/// What is typed before a line is laid out.
pub(in crate::wire) const TRIGGER: &str = "\n";

/// The whole document.
pub(in crate::wire) fn whole(
    server: &ServerContext,
    params: &DocumentFormattingParams,
) -> Option<Vec<TextEdit>> {
    let file = server.state.file(&params.text_document.uri)?;
    let found = layout::whole(server.state.site(file)?);
    edits(server, file, found)
}

/// The stanzas that a range touches.
pub(in crate::wire) fn range(
    server: &ServerContext,
    params: &DocumentRangeFormattingParams,
) -> Option<Vec<TextEdit>> {
    let (file, span) = from_proto::span(&server.state, &params.text_document.uri, params.range)?;
    let found = layout::touched(server.state.site(file)?, span);
    edits(server, file, found)
}

/// The line that a line break has just ended.
pub(in crate::wire) fn on_type(
    server: &ServerContext,
    params: &DocumentOnTypeFormattingParams,
) -> Option<Vec<TextEdit>> {
    let (file, offset) = from_proto::place(&server.state, &params.text_document_position)?;
    if params.ch != TRIGGER {
        return None;
    }
    let found = layout::finished_line(server.state.site(file)?, offset);
    edits(server, file, found)
}

fn edits(server: &ServerContext, file: FileRef, found: Vec<Replacement>) -> Option<Vec<TextEdit>> {
    server.state.with_lines(file, |lines| {
        let edit = |found: Replacement| TextEdit::new(lines.range(found.span), found.text);
        found.into_iter().map(edit).collect()
    })
}
