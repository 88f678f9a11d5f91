#![doc = include_str!("substance.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::{At, substance_of};
use gutta_protocol::limits::{Breach, Limiting, OfSubstance};
use gutta_protocol::model::limit::TotalOver;
use gutta_quantity::{Exact, Quantity};

use crate::beyond::Beyond;
use crate::finding::Excess;
use crate::{Check, Finding, OrderContext, Rule, Severity, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.substance",
    severity: Severity::Error,
    locked: true,
    page: include_str!("substance.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    for found in beyond(context, &RULE, false) {
        findings.push(found.note(
            "All sources of it count. Give it more slowly, or in a fluid that contains less.",
        ));
    }
    for of in context.substances() {
        match of.by {
            Limiting::Ingredient(_) if !of.by.is_whole() => findings.push(unread(context, of)),
            Limiting::Ingredient(_) => {}
            Limiting::Drug(_) => findings.extend(unchecked(context, of)),
        }
    }
}

/// What of each substance lies beyond a `usual` or else a `never`: of each
/// measure the furthest, and what concerns others than that does.
pub(super) fn beyond(context: &OrderContext<'_>, rule: &'static Rule, usual: bool) -> Vec<Finding> {
    let mut findings = Vec::new();
    for of in context.substances() {
        let (usuals, nevers): (Vec<_>, Vec<_>) = of
            .judgement
            .breaches
            .iter()
            .partition(|breach| breach.bound.usual);
        let breaches = match usual {
            // What is never to be is not told again as unusual.
            true => {
                let never = |breach: &&Breach| nevers.iter().any(|never| tells(never, breach));
                usuals.into_iter().filter(|breach| !never(breach)).collect()
            }
            false => nevers,
        };
        for breach in worst(breaches) {
            if !is_told(context, of, breach) {
                findings.extend(report(context, rule, of, breach));
            }
        }
    }
    findings
}

/// Whether a breach is of the measure of the other, and of all its patients.
fn tells(known: &Breach, breach: &Breach) -> bool {
    let measure = |breach: &Breach| (breach.bound.measure, breach.bound.over.clone());
    measure(known) == measure(breach) && known.view == breach.view && known.covers(breach)
}

/// Those that lie furthest beyond their bounds, as a share of them, each of a
/// measure and of patients that none before it is of: as it starts, else at the highest step.
fn worst(mut breaches: Vec<&Breach>) -> Vec<&Breach> {
    breaches.sort_by(|one, other| {
        let starts = |breach: &Breach| breach.reading.at == At::Start;
        let further = share(other).cmp(&share(one));
        starts(other).cmp(&starts(one)).then(further)
    });
    let mut worst: Vec<&Breach> = Vec::new();
    for breach in breaches {
        let told = |known: &&Breach| {
            let of = |breach: &Breach| (breach.drug, breach.bound.bound_span, breach.reading.span);
            of(known) == of(breach) || tells(known, breach)
        };
        if !worst.iter().any(told) {
            worst.push(breach);
        }
    }
    worst
}

/// How many times its bound a value is; the most where it has no end.
fn share(breach: &Breach) -> (bool, Option<Exact>) {
    let value = breach.worst.as_ref().map(|(value, _)| value);
    let share = value.and_then(|value| value.checked_div(&breach.bound.bound));
    (value.is_none(), share)
}

/// Whether the order's own drug, given for the substance, passes a limit of
/// its own by as much: one slip, one finding.
fn is_told(context: &OrderContext<'_>, of: &OfSubstance, breach: &Breach) -> bool {
    let drug = context.analysis.order.drug.as_ref();
    let is_own = drug.is_some_and(|drug| substance_of(&drug.value, &[]).as_ref() == Some(&of.name));
    let told = |own: &Breach| {
        let (own_bound, bound) = (&own.bound, &breach.bound);
        let alike = (own_bound.usual, own_bound.measure, &own_bound.over)
            == (bound.usual, bound.measure, &bound.over);
        alike && own.reading.at == breach.reading.at && share(own) >= share(breach)
    };
    is_own && context.analysis.judgement().breaches.iter().any(told)
}

fn report(
    context: &OrderContext<'_>,
    rule: &'static Rule,
    of: &OfSubstance,
    breach: &Breach,
) -> Option<Finding> {
    let values = context.analysis.values.as_ref().ok()?;
    let style = context.style();
    let bound = &breach.bound;
    let step = match breach.reading.at {
        At::High => "at the highest step of `adjust` ",
        At::Start | At::Low => "",
    };
    let subject = match (bound.measure, &bound.over) {
        (LimitMeasure::Strength, _) => format!("the strength of {}", of.name),
        (LimitMeasure::Total, TotalOver::Any(window)) => format!(
            "{step}the {} that this order gives in {}",
            of.name,
            telling::clock(window, style)
        ),
        _ => format!("{step}the {} that this order gives", of.name),
    };
    let limit = telling::bound_told(bound, style);
    let message = match Beyond::of_breach(breach, values.views.len()) {
        Some(beyond) if bound.usual => {
            beyond.told_usual(values, &subject, &limit, bound.unit, style)
        }
        Some(beyond) => beyond.told_never(values, &subject, &limit, bound.unit, style),
        None => format!(
            "{} has no end in this order, so it exceeds {limit}.",
            telling::sentence(&subject)
        ),
    };
    let place = context.workspace.place(breach.drug, bound.span);
    let whose = match &of.by {
        Limiting::Ingredient(_) => "the limit of the ingredient".to_owned(),
        Limiting::Drug(drug) => format!("the limit of {}", drug.name),
    };
    let extreme = breach.worst.as_ref();
    Some(
        context
            .finding(rule, breach.reading.span, message)
            .related(place, whose)
            .extent(Excess {
                measure: bound.measure,
                low: None,
                high: extreme.map(|(value, _)| Quantity::from_base(value.clone(), bound.unit)),
            }),
    )
}

/// An ingredient that was not read whole: what its line limits is not held.
fn unread(context: &OrderContext<'_>, of: &OfSubstance) -> Finding {
    let message = format!(
        "This order gives {}, and a line of its `ingredient` could not be used: not all of its limits were checked.",
        of.name
    );
    told_at(context, of, message, "the ingredient").note("Correct that line; then it is checked.")
}

/// A substance that nothing limits.
fn unchecked(context: &OrderContext<'_>, of: &OfSubstance) -> Option<Finding> {
    let judgement = &of.judgement;
    let compared = judgement.applied > 0 && judgement.unchecked.is_empty();
    if compared || of.replaced || judgement.breaches.iter().any(|breach| !breach.bound.usual) {
        return None;
    }
    let (name, drug) = (&of.name, of.by.name());
    let message = format!(
        "This order gives {name}, and no `never dose` or `never total` of {drug} could be checked for it."
    );
    Some(told_at(context, of, message, "a high-alert drug that is given for it").note(format!(
        "State in a stanza `ingredient {name}`, or in the drug's own, how much of it may be given per time; and in the order the patient's weight, if that limit is by weight."
    )))
}

fn told_at(context: &OrderContext<'_>, of: &OfSubstance, message: String, what: &str) -> Finding {
    let header = context.workspace.stanza(of.id).header;
    context
        .finding(&RULE, context.analysis.order.header, message)
        .severity(Severity::Warning)
        .related(context.workspace.place(of.id, header), what)
}

#[cfg(test)]
mod of_drugs;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod which_holds;
