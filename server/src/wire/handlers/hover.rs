//! `textDocument/hover`.

use tower_lsp::lsp_types::{Hover, HoverContents, HoverParams};

use crate::features::hover;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;
use crate::wire::to_proto;

pub(in crate::wire) fn answer(server: &ServerContext, params: &HoverParams) -> Option<Hover> {
    let state = &server.state;
    let (file, offset) = from_proto::place(state, &params.text_document_position_params)?;
    let found = hover::hover(state.site(file)?, offset)?;
    let markup = server.publisher.abilities.hovers;
    let range = state.with_lines(file, |lines| lines.range(found.span));
    Some(Hover {
        contents: HoverContents::Markup(to_proto::markup(found.text, markup)),
        range,
    })
}
