//! `gutta/derived`, a request of our own: all that is derived from the order at
//! a position, for a view beside the text.

use gutta_views::overview::Overview;
use serde::Serialize;
use tower_lsp::lsp_types::TextDocumentPositionParams;

use crate::features::{CAUTION, overview};
use crate::wire::context::ServerContext;
use crate::wire::from_proto;

/// The request's name.
pub(in crate::wire) const METHOD: &str = "gutta/derived";

/// The answer: what is derived is decimals in texts, never JSON numbers.
#[derive(Debug, Serialize)]
pub(in crate::wire) struct Derived {
    /// Stands beside whatever is shown of the rest.
    caution: &'static str,
    /// Of which version of the document it is; none where that is not open.
    version: Option<i32>,
    #[serde(flatten)]
    overview: Overview,
}

/// `null` where the position is in no order.
pub(in crate::wire) fn answer(
    server: &ServerContext,
    at: &TextDocumentPositionParams,
) -> Option<Derived> {
    let state = &server.state;
    let (file, offset) = from_proto::place(state, at)?;
    Some(Derived {
        caution: CAUTION,
        version: state.version(file),
        overview: overview::overview(state.site(file)?, offset)?,
    })
}
