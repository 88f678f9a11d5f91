//! What stands in the way of a stanza's meaning, for the rules that speak of
//! it.

use gutta_notation::StanzaKind;
use gutta_protocol::model::problem::{Problem, ProblemKind};

use crate::{OrderContext, StanzaContext};

/// Why nothing is derived from an order; none where all is.
pub(crate) fn of_order<'a>(context: &OrderContext<'a>) -> &'a [Problem] {
    match &context.analysis.values {
        Err(incomplete) => &incomplete.problems,
        Ok(_) => &context.analysis.order.problems,
    }
}

/// Why a drug, area, pump, giving set, solution, ingredient or set cannot be taken at its word.
pub(crate) fn of_reference<'a>(context: &StanzaContext<'a>) -> &'a [Problem] {
    let (library, id) = (context.library, context.stanza);
    let problems = match context.stanza().kind {
        StanzaKind::Drug => library.drug(id).map(|drug| &drug.problems),
        StanzaKind::Area => library.area(id).map(|area| &area.problems),
        StanzaKind::Pump => library.pump(id).map(|pump| &pump.problems),
        StanzaKind::GivingSet => library.giving_set(id).map(|set| &set.problems),
        StanzaKind::Solution => library.solution(id).map(|solution| &solution.problems),
        StanzaKind::Ingredient => library.ingredient(id).map(|of| &of.problems),
        StanzaKind::Set => library.set(id).map(|set| &set.problems),
        _ => None,
    };
    problems.map_or(&[], Vec::as_slice)
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
