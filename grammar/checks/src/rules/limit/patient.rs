#![doc = include_str!("patient.md")]

use gutta_protocol::model::size::Extent;
use gutta_quantity::{Unit, units};

use crate::telling::{bound_of_patients, range_of_patients};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.patient",
    severity: Severity::Error,
    locked: true,
    page: include_str!("patient.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(area) = order.area.named() else {
        return;
    };
    let concerns = [
        (
            order.states.weight,
            &order.weight,
            &area.value.weight,
            units::KG,
            "weights",
        ),
        (
            order.states.surface,
            &order.surface,
            &area.value.surface,
            units::M2,
            "body surfaces",
        ),
        (
            order.states.age,
            &order.age,
            &area.value.age,
            Unit::new(gutta_quantity::Atom::Years),
            "ages",
        ),
    ];
    for (stated, own, theirs, unit, word) in concerns {
        let (Some(span), Some(own), Some(theirs)) = (stated, own, theirs) else {
            continue;
        };
        if let Some(beyond) = beyond(own, theirs, unit) {
            let message = format!(
                "The order covers {word} {beyond}, and `{}` is for {}.",
                area.name,
                range_of_patients(theirs, unit)
            );
            findings.push(
                context
                    .finding(&RULE, span, message)
                    .related(
                        context.workspace.place(area.id, theirs.span),
                        "whom the area is for",
                    )
                    .note(
                        "Narrow the order's range, or name the area that these patients belong to.",
                    ),
            );
        }
    }
}

/// What lies outside, in words.
fn beyond(own: &Extent, theirs: &Extent, unit: Unit) -> Option<String> {
    let below = match (&own.low, &theirs.low) {
        (Some(own), Some(theirs)) if own < theirs => {
            Some(format!("from {}", bound_of_patients(own, unit)))
        }
        (None, Some(_)) => Some("without a lower end".to_owned()),
        _ => None,
    };
    let above = match (&own.high, &theirs.high) {
        (Some(own_high), Some(high)) if own_high > high => {
            Some(format!("up to {}", bound_of_patients(own_high, unit)))
        }
        (Some(own_high), Some(high))
            if own_high == high && theirs.high_excluded && !own.high_excluded =>
        {
            Some(format!(
                "up to {} itself",
                bound_of_patients(own_high, unit)
            ))
        }
        (None, Some(_)) => Some("without an upper end".to_owned()),
        _ => None,
    };
    match (below, above) {
        (None, None) => None,
        (Some(one), None) | (None, Some(one)) => Some(one),
        (Some(below), Some(above)) => Some(format!("{below} {above}")),
    }
}
