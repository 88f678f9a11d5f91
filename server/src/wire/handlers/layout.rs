//! `textDocument/formatting`, `rangeFormatting` and `onTypeFormatting`. How
//! wide an indent is, the notation says, and no editor.

use tower_lsp::lsp_types::{
    DocumentFormattingParams, DocumentOnTypeFormattingParams, DocumentRangeFormattingParams,
    TextEdit,
};

use crate::features::layout::{self, Replacement};
use crate::state::FileRef;
use crate::wire::from_proto;
use crate::wire::worker::Desk;

/// What is typed before a line is laid out.
pub(in crate::wire) const TRIGGER: &str = "\n";

/// The whole document.
pub(in crate::wire) fn whole(
    desk: &Desk,
    params: &DocumentFormattingParams,
) -> Option<Vec<TextEdit>> {
    let file = desk.state.file(&params.text_document.uri)?;
    let found = layout::whole(desk.state.site(file)?);
    edits(desk, file, found)
}

/// The stanzas that a range touches.
pub(in crate::wire) fn range(
    desk: &Desk,
    params: &DocumentRangeFormattingParams,
) -> Option<Vec<TextEdit>> {
    let (file, span) = from_proto::span(&desk.state, &params.text_document.uri, params.range)?;
    let found = layout::touched(desk.state.site(file)?, span);
    edits(desk, file, found)
}

/// The line that a line break has just ended.
pub(in crate::wire) fn on_type(
    desk: &Desk,
    params: &DocumentOnTypeFormattingParams,
) -> Option<Vec<TextEdit>> {
    let (file, offset) = from_proto::place(&desk.state, &params.text_document_position)?;
    if params.ch != TRIGGER {
        return None;
    }
    let found = layout::finished_line(desk.state.site(file)?, offset);
    edits(desk, file, found)
}

fn edits(desk: &Desk, file: FileRef, found: Vec<Replacement>) -> Option<Vec<TextEdit>> {
    desk.state.with_lines(file, |lines| {
        let edit = |found: Replacement| TextEdit::new(lines.range(found.span), found.text);
        found.into_iter().map(edit).collect()
    })
}
