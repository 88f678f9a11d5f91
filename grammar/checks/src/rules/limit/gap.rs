#![doc = include_str!("gap.md")]

use gutta_protocol::limits::asks_alike;
use gutta_protocol::model::limit::{LimitBound, When};
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Unit, units, work};
use rustc_hash::FxHashMap;

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
    let Some(limits) = context.library.limits(context.stanza) else {
        return;
    };
    for (of, unit, word) in [
        (
            weights as fn(&When) -> Option<&Extent>,
            units::KG,
            "weights",
        ),
        (surfaces, units::M2, "body surface areas"),
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

/// Whether two limits differ in their patients and their bound alone.
fn alike(one: &LimitBound, other: &LimitBound) -> bool {
    let of = |limit: &LimitBound| (limit.measure, limit.form, limit.usual, limit.side);
    // The same is the same, wherever in the stanza it is written.
    let for_all = |when: &When| When {
        weights: None,
        surfaces: None,
        ..when.clone()
    };
    let mut excepts = one.except.iter().zip(&other.except);
    of(one) == of(other)
        && one.over == other.over
        && asks_alike(&for_all(&one.when), &for_all(&other.when))
        && one.except.len() == other.except.len()
        && excepts.all(|(one, other)| asks_alike(one, other))
}

/// Limits of bands, those that are alike together.
fn groups(
    limits: &[LimitBound],
    of: fn(&When) -> Option<&Extent>,
) -> Vec<Vec<(&LimitBound, &Extent)>> {
    let mut groups: Vec<Vec<(&LimitBound, &Extent)>> = Vec::new();
    let mut known: FxHashMap<_, Vec<usize>> = FxHashMap::default();
    for limit in limits {
        let Some(extent) = of(&limit.when) else {
            continue;
        };
        let when = &limit.when;
        let key = (
            (limit.measure, limit.form, limit.usual, limit.side),
            (&when.routes, &when.areas, &when.purposes),
        );
        let places = known.entry(key).or_default();
        work::charge_each(1 + places.len());
        let place = places
            .iter()
            .find(|place| alike(groups[**place][0].0, limit));
        match place {
            Some(place) => groups[*place].push((limit, extent)),
            None => {
                places.push(groups.len());
                groups.push(vec![(limit, extent)]);
            }
        }
    }
    groups
}

fn bands(
    context: &StanzaContext<'_>,
    limits: &[LimitBound],
    of: fn(&When) -> Option<&Extent>,
    unit: Unit,
    word: &str,
    findings: &mut Vec<Finding>,
) {
    for mut group in groups(limits, of) {
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
                let style = context.style();
                let (end, start) = (
                    bound_of_patients(end, unit, style),
                    bound_of_patients(&start, unit, style),
                );
                let message = format!(
                    "No limit of {} applies to {word} between {end} and {start}.",
                    above.measure.phrase()
                );
                findings.push(
                    context
                        .finding(&RULE, above.span, message)
                        .related(context.place(below.span), "the band below")
                        .note(format!(
                            "Let the bands meet at {end} or at {start}: the source decides which."
                        )),
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
        "Two bands of {word} for the {} overlap; where they do, both limits apply.",
        above.measure.phrase()
    );
    context
        .finding(&RULE, above.span, message)
        .related(context.place(below.span), "the other band")
        .note("Let the bands share only their end.")
}

fn low(extent: &Extent) -> Exact {
    extent.low.clone().unwrap_or(Exact::ZERO)
}
