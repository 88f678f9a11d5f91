//! What a drug forbids outright: routes, areas, giving it undiluted.

use gutta_notation::ast::Route;

use super::holds::{OpenCondition, Stretch, holds};
use super::judgement::{Forbidden, ForbiddenWhat, Judgement};
use crate::derive::{Values, View};
use crate::model::limit::{Prohibited, Prohibition};
use crate::model::order::{Order, Preparation};

/// Routes, areas and preparations that the drug forbids.
pub(super) fn forbidden(judgement: &mut Judgement, order: &Order, values: &Values) {
    for (place, view) in values.views.iter().enumerate() {
        in_view(judgement, order, (place, view));
    }
}

fn in_view(judgement: &mut Judgement, order: &Order, (place, view): (usize, &View)) {
    use crate::model::order::Answer;
    let Some(drug) = &order.drug else { return };
    for (index, phase) in order.phases.iter().enumerate() {
        let holds_drug = view
            .phases
            .get(index)
            .is_some_and(|phase| phase.bag.drug.is_some());
        if !holds_drug {
            continue;
        }
        if let Some((routes, span)) = &drug.value.only_by {
            match &phase.route {
                Answer::Is(route) if !routes.contains(&route.value) => {
                    judgement.forbid(Forbidden {
                        drug: drug.id,
                        limit: *span,
                        at: route.span,
                        what: ForbiddenWhat::NotOnlyBy(route.value),
                    })
                }
                // Any route at all is more than the drug allows.
                Answer::Any(at) => {
                    if let Some(route) =
                        Route::ALL.into_iter().find(|route| !routes.contains(route))
                    {
                        let what = ForbiddenWhat::NotOnlyBy(route);
                        judgement.forbid(Forbidden {
                            drug: drug.id,
                            limit: *span,
                            at: *at,
                            what,
                        });
                    }
                }
                Answer::Unanswered => judgement.unanswered(drug.id, *span, &OpenCondition::Route),
                Answer::Is(_) => {}
            }
        }
        for prohibition in &drug.value.prohibitions {
            prohibited(judgement, order, (place, view), index, prohibition);
        }
    }
}

fn prohibited(
    judgement: &mut Judgement,
    order: &Order,
    (place, view): (usize, &View),
    index: usize,
    prohibition: &Prohibition,
) {
    use crate::model::order::Answer;
    let (Some(drug), Some(phase)) = (&order.drug, order.phases.get(index)) else {
        return;
    };
    let load = phase.is_loading();
    let met = holds(
        order,
        phase,
        &view.patients,
        load,
        &prohibition.when,
        &prohibition.except,
    );
    if met.over.is_empty() {
        return;
    }
    let limit = prohibition.span;
    let asked = |judgement: &mut Judgement, asked: OpenCondition| {
        judgement.unanswered(drug.id, limit, &asked)
    };
    for open in &met.asked {
        asked(judgement, open.clone());
    }
    judgement.applied += 1;
    let done = |at, what| Forbidden {
        drug: drug.id,
        limit,
        at,
        what,
    };
    match &prohibition.what {
        Prohibited::Routes(routes) => match &phase.route {
            Answer::Is(route) if routes.contains(&route.value) => {
                judgement.forbid(done(route.span, ForbiddenWhat::Route(route.value)));
            }
            Answer::Any(span) => {
                if let Some(route) = routes.first() {
                    judgement.forbid(done(*span, ForbiddenWhat::Route(*route)));
                }
            }
            Answer::Unanswered => asked(judgement, OpenCondition::Route),
            Answer::Is(_) => {}
        },
        Prohibited::Areas(areas) => match &order.area {
            Answer::Is(area) if areas.contains(&area.name) => {
                judgement.forbid(done(
                    area.span.unwrap_or(order.header),
                    ForbiddenWhat::Area(area.name.clone()),
                ));
            }
            Answer::Any(span) => {
                if let Some(area) = areas.first() {
                    judgement.forbid(done(*span, ForbiddenWhat::Area(area.clone())));
                }
            }
            Answer::Unanswered => asked(judgement, OpenCondition::Area),
            Answer::Is(_) => {}
        },
        Prohibited::Undiluted => {
            if let Some(bag) = phase
                .bag
                .as_ref()
                .filter(|bag| matches!(bag.how, Preparation::Undiluted { .. }))
            {
                judgement.forbid(done(bag.span, ForbiddenWhat::Undiluted));
            } else if let Some(bag) = &phase.bag
                && let Some(at) = no_diluent(view, index, &met.over)
            {
                let what = ForbiddenWhat::NoDiluent { view: place, at };
                judgement.forbid(done(bag.span, what));
            }
        }
    }
}

/// A patient for whom the drug alone fills the bag of this phase.
fn no_diluent(view: &View, index: usize, over: &[Stretch]) -> Option<gutta_quantity::Exact> {
    let diluent = view.phases.get(index)?.bag.diluent.as_ref()?;
    over.iter().find_map(|stretch| {
        let part = diluent.restrict(&stretch.interval()?)?;
        let least = part.min_value()?;
        (!least.value.is_positive()).then_some(least.x)
    })
}
