#![doc = include_str!("gap.md")]

use gutta_protocol::model::limit::{LimitBound, When};
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Unit, units};

use crate::telling::bound_of_patients;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "limit.gap",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("gap.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(drug) = context.library.drug(context.stanza) else {
        return;
    };
    let limits = &drug.limits;
    for (of, unit, word) in [
        (
            weights as fn(&When) -> Option<&Extent>,
            units::KG,
            "weights",
        ),
        (surfaces, units::M2, "body surfaces"),
    ] {
        bands(context, limits, of, unit, word, findings);
    }
}

fn weights(when: &When) -> Option<&Extent> {
    when.weights.as_ref()
}

fn surfaces(when: &When) -> Option<&Extent> {
    when.surfaces.as_ref()
}

/// The same limit but for its band.
fn alike(one: &LimitBound, other: &LimitBound) -> bool {
    let without = |when: &When| When {
        weights: None,
        surfaces: None,
        ..when.clone()
    };
    one.measure == other.measure
        && one.form == other.form
        && one.usual == other.usual
        && one.side == other.side
        && one.over == other.over
        && without(&one.when) == without(&other.when)
        && one.except == other.except
}

fn bands(
    context: &StanzaContext<'_>,
    limits: &[LimitBound],
    of: fn(&When) -> Option<&Extent>,
    unit: Unit,
    word: &str,
    findings: &mut Vec<Finding>,
) {
    let mut done: Vec<&LimitBound> = Vec::new();
    for first in limits.iter().filter(|limit| of(&limit.when).is_some()) {
        if done.iter().any(|other| alike(first, other)) {
            continue;
        }
        done.push(first);
        let mut group: Vec<(&LimitBound, &Extent)> = limits
            .iter()
            .filter(|limit| alike(first, limit))
            .filter_map(|limit| Some((limit, of(&limit.when)?)))
            .collect();
        group.sort_by_key(|(_, extent)| low(extent));
        for pair in group.windows(2) {
            let [(below, lower), (above, upper)] = pair else {
                continue;
            };
            let Some(end) = &lower.high else {
                findings.push(overlap(context, below, above, word));
                continue;
            };
            let start = low(upper);
            if start > *end {
                let (end, start) = (
                    bound_of_patients(end, unit),
                    bound_of_patients(&start, unit),
                );
                let message = format!(
                    "No limit of {} holds for {word} between {end} and {start}.",
                    above.measure.phrase()
                );
                findings.push(
                    context
                        .finding(&RULE, above.span, message)
                        .related(context.place(below.span), "the band below")
                        .note(format!("Let the bands share their end, {end} or {start}: the source decides which.")),
                );
            } else if start < *end {
                findings.push(overlap(context, below, above, word));
            }
        }
    }
    // A `usual` with two ends is two bounds on one line: one finding is enough.
    findings.dedup_by(|one, other| one.place == other.place && one.message == other.message);
}

fn overlap(
    context: &StanzaContext<'_>,
    below: &LimitBound,
    above: &LimitBound,
    word: &str,
) -> Finding {
    let message = format!(
        "Two bands of {word} for the {} overlap; both limits hold where they do.",
        above.measure.phrase()
    );
    context
        .finding(&RULE, above.span, message)
        .related(context.place(below.span), "the other band")
        .note("Let the bands share no more than their end.")
}

fn low(extent: &Extent) -> Exact {
    extent.low.clone().unwrap_or(Exact::ZERO)
}
