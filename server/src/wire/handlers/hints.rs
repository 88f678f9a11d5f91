//! `textDocument/inlayHint` and `inlayHint/resolve`.

use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types::{InlayHint, InlayHintLabel, InlayHintParams, InlayHintTooltip, Url};

use crate::features::hints;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;
use crate::wire::to_proto;

/// What finds a hint's line again.
#[derive(Serialize, Deserialize)]
struct Data {
    uri: Url,
    version: Option<i32>,
    line: u32,
}

/// The hints of a range, without their tooltips.
pub(in crate::wire) fn answer(
    server: &ServerContext,
    params: &InlayHintParams,
) -> Option<Vec<InlayHint>> {
    let state = &server.state;
    let uri = &params.text_document.uri;
    let (file, span) = from_proto::span(state, uri, params.range)?;
    let found = hints::hints(state.site(file)?, span);
    let version = state.version(file);
    state.with_lines(file, |lines| {
        let hint = |hint: hints::Hint| InlayHint {
            position: lines.position(hint.offset),
            label: InlayHintLabel::String(to_proto::seen(&hint.label)),
            kind: None,
            text_edits: None,
            tooltip: None,
            padding_left: Some(true),
            padding_right: None,
            data: serde_json::to_value(Data {
                uri: uri.clone(),
                version,
                line: hint.line,
            })
            .ok(),
        };
        found.into_iter().map(hint).collect()
    })
}

/// The hint with its tooltip; as it is where the document has changed since.
pub(in crate::wire) fn resolve(server: &ServerContext, mut hint: InlayHint) -> InlayHint {
    let tooltip = |hint: &InlayHint| {
        let data = Data::deserialize(hint.data.as_ref()?).ok()?;
        let state = &server.state;
        let file = state.file(&data.uri)?;
        let InlayHintLabel::String(label) = &hint.label else {
            return None;
        };
        (state.version(file) == data.version).then_some(())?;
        hints::tooltip(state.site(file)?, data.line, label)
    };
    if let Some(text) = tooltip(&hint) {
        let markup = server.publisher.abilities.hovers;
        hint.tooltip = Some(InlayHintTooltip::MarkupContent(to_proto::markup(
            text, markup,
        )));
    }
    hint
}
