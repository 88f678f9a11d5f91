//! A stanza that another names.

use std::sync::Arc;

use gutta_notation::Span;
use smol_str::SmolStr;

use crate::StanzaId;

/// A stanza that another names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named<T> {
    /// The name as written (an `also` name may stand for a drug's own).
    pub name: SmolStr,
    /// Where the name stands in the order; `None` where it comes from the
    /// area or the house.
    pub span: Option<Span>,
    /// The stanza.
    pub id: StanzaId,
    /// What it says.
    pub value: Arc<T>,
}
