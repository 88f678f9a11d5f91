//! `textDocument/documentLink`, `foldingRange` and `selectionRange`.

use gutta_notation::Span;
use gutta_protocol::{Place, StanzaId, UseFault};
use tower_lsp::lsp_types::{
    DocumentLink, DocumentLinkParams, FoldingRange, FoldingRangeKind, FoldingRangeParams,
    SelectionRange, SelectionRangeParams,
};

use crate::features::{folding, selection};
use crate::text::Forward;
use crate::wire::context::ServerContext;
use crate::wire::to_proto;

/// The files that the document's `use` lines bring in.
pub(in crate::wire) fn links(
    server: &ServerContext,
    params: &DocumentLinkParams,
) -> Option<Vec<DocumentLink>> {
    let state = &server.state;
    let (root, file) = state.file(&params.text_document.uri)?;
    let workspace = &state.root(root)?.workspace;
    let mut forward = Forward::new(&workspace.file(file).text, state.encoding);
    let mut links = Vec::new();
    for used in workspace.uses(file) {
        let (Ok(target) | Err(UseFault::NotRead(target))) = used.target else {
            continue;
        };
        let id = StanzaId {
            file,
            index: used.stanza,
        };
        // Without the quotes.
        let inner = Span::new(used.span.start + 1, used.span.end.saturating_sub(1));
        let Place { span, .. } = workspace.place(id, inner);
        links.push(DocumentLink {
            range: forward.range(span),
            target: state.url((root, target)),
            tooltip: Some(to_proto::seen(&workspace.file(target).path)),
            data: None,
        });
    }
    Some(links)
}

/// What can be folded; of what stands on one line, nothing.
pub(in crate::wire) fn folds(
    server: &ServerContext,
    params: &FoldingRangeParams,
) -> Option<Vec<FoldingRange>> {
    let state = &server.state;
    let site = state.site(state.file(&params.text_document.uri)?)?;
    let text = &site.source().text;
    let mut starts = Forward::new(text, state.encoding);
    let mut ends = Forward::new(text, state.encoding);
    let mut folds = Vec::new();
    for (kind, span) in folding::folds(site) {
        let (start, end) = (starts.position(span.start), ends.position(span.end));
        if start.line < end.line {
            folds.push(FoldingRange {
                start_line: start.line,
                end_line: end.line,
                kind: match kind {
                    folding::FoldKind::Comment => Some(FoldingRangeKind::Comment),
                    folding::FoldKind::Uses => Some(FoldingRangeKind::Imports),
                    folding::FoldKind::Stanza => None,
                },
                ..FoldingRange::default()
            });
        }
    }
    Some(folds)
}

/// How a selection grows at each of the positions.
pub(in crate::wire) fn selections(
    server: &ServerContext,
    params: &SelectionRangeParams,
) -> Option<Vec<SelectionRange>> {
    let state = &server.state;
    let file = state.file(&params.text_document.uri)?;
    let site = state.site(file)?;
    state.with_lines(file, |lines| {
        let selection = |position| {
            let around = selection::around(site, lines.offset(position));
            let mut outer: Option<SelectionRange> = None;
            for span in around.into_iter().rev() {
                outer = Some(SelectionRange {
                    range: lines.range(span),
                    parent: outer.map(Box::new),
                });
            }
            // There is always one: the file.
            outer.unwrap_or_default()
        };
        params.positions.iter().copied().map(selection).collect()
    })
}
