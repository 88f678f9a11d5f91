//! What the protocol writes, as plain data.

use gutta_notation::Span;
use tower_lsp::lsp_types::{Position, Range, TextDocumentPositionParams, Url};

use crate::state::{FileRef, State};

/// The file that the URL names, and the byte at the position.
pub(super) fn offset(state: &State, url: &Url, position: Position) -> Option<(FileRef, u32)> {
    let file = state.file(url)?;
    let offset = state.with_lines(file, |lines| lines.offset(position))?;
    Some((file, offset))
}

/// The same for a document position.
pub(super) fn place(state: &State, at: &TextDocumentPositionParams) -> Option<(FileRef, u32)> {
    offset(state, &at.text_document.uri, at.position)
}

/// The file, and the bytes of the range.
pub(super) fn span(state: &State, url: &Url, range: Range) -> Option<(FileRef, Span)> {
    let file = state.file(url)?;
    let span = state.with_lines(file, |lines| lines.span(range))?;
    Some((file, span))
}
