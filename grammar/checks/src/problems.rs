//! What stands in the way of a stanza's meaning, for the rules that speak of
//! it.

use gutta_notation::StanzaKind;
use gutta_protocol::model::problem::{Problem, ProblemKind};
use gutta_protocol::model::{drug, reference};

use crate::{OrderContext, StanzaContext};

/// Why nothing is derived from an order; none where all is.
pub(crate) fn of_order<'a>(context: &OrderContext<'a>) -> &'a [Problem] {
    match &context.analysis.values {
        Err(incomplete) => &incomplete.problems,
        Ok(_) => &context.analysis.order.problems,
    }
}

/// Why a drug, area, pump, giving set or solution cannot be taken at its word.
pub(crate) fn of_reference(context: &StanzaContext<'_>) -> Vec<Problem> {
    let stanza = context.stanza();
    match stanza.kind {
        StanzaKind::Drug => drug::drug(stanza).problems,
        StanzaKind::Area => reference::area(stanza).problems,
        StanzaKind::Pump => reference::pump(stanza).problems,
        StanzaKind::GivingSet => reference::giving_set(stanza).problems,
        StanzaKind::Solution => reference::solution(stanza).problems,
        _ => Vec::new(),
    }
}

/// The problems of the kinds that `pick` picks.
pub(crate) fn of_kind<'a>(
    context: &OrderContext<'a>,
    pick: impl Fn(&ProblemKind) -> bool,
) -> Vec<&'a Problem> {
    of_order(context)
        .iter()
        .filter(|problem| pick(&problem.kind))
        .collect()
}
