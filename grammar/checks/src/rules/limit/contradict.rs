#![doc = include_str!("contradict.md")]

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::limits::{asks_alike, includes};
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::{LimitBound, Prohibited, Side, When};
use gutta_quantity::work;
use rustc_hash::FxHashMap;

use crate::telling::bound_told;
use crate::words::by_route;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "limit.contradict",
    severity: Severity::Error,
    locked: false,
    page: include_str!("contradict.md"),
    check: Check::Stanza(check),
};

/// So many pairs of limits are looked at in a unit of work.
const LIMITS_A_UNIT: usize = 16;

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(limits) = context.library.limits(context.stanza) else {
        return;
    };
    if let Some(drug) = context.library.drug(context.stanza) {
        findings.extend(fluids(context, drug));
        findings.extend(routes(context, drug));
    }
    let mut usuals: FxHashMap<Span, Vec<&LimitBound>> = FxHashMap::default();
    for limit in limits.iter().filter(|limit| limit.usual) {
        usuals.entry(limit.span).or_default().push(limit);
    }
    // Only a `never` contradicts, and most have none of its measure to do so.
    let count = limits.iter().filter(|limit| !limit.usual).count();
    work::charge_each(limits.len() * count / LIMITS_A_UNIT);
    for (index, one) in limits.iter().enumerate() {
        for other in &limits[index + 1..] {
            let alike = !(one.usual && other.usual)
                && one.measure == other.measure
                && one.form == other.form
                && one.over == other.over;
            if !alike || one.span == other.span {
                continue;
            }
            let (never, usual) = match (one.usual, other.usual) {
                (false, false) => {
                    findings.extend(nevers(context, limits, one, other));
                    continue;
                }
                (false, true) => (one, other),
                (true, false) => (other, one),
                (true, true) => continue,
            };
            let ends = usuals.get(&usual.span).map_or(&[][..], Vec::as_slice);
            if !gives_way(never, &usual.when, limits) {
                findings.extend(beyond(context, never, usual, ends));
            }
        }
    }
}

/// Whether a `never single dose` of every giving judges no load that a limit of
/// these conditions judges: it gives way to a `never` of its side that is for
/// loads, and holds wherever the other does.
fn gives_way(never: &LimitBound, when: &When, limits: &[LimitBound]) -> bool {
    let for_loads = |when: &When| when.purposes.iter().any(|name| name == "loading");
    let loads_alone = |when: &When| when.purposes.iter().all(|name| name == "loading");
    never.measure == LimitMeasure::SingleDose
        && !for_loads(&never.when)
        && for_loads(when)
        && loads_alone(when)
        && limits.iter().any(|other| {
            let alike = (other.measure, other.side) == (never.measure, never.side);
            let holds = asks_alike(&other.when, when) || includes(when, &other.when);
            alike && !other.usual && for_loads(&other.when) && other.except.is_empty() && holds
        })
}

/// A `never above` under a `never below`: no value at all is allowed.
fn nevers(
    context: &StanzaContext<'_>,
    limits: &[LimitBound],
    one: &LimitBound,
    other: &LimitBound,
) -> Option<Finding> {
    let (above, below) = match (one.side, other.side) {
        (Side::High, Side::Low) => (one, other),
        (Side::Low, Side::High) => (other, one),
        _ => return None,
    };
    let nested = asks_alike(&above.when, &below.when)
        || includes(&above.when, &below.when)
        || includes(&below.when, &above.when);
    let apart = gives_way(above, &below.when, limits) || gives_way(below, &above.when, limits);
    if !nested
        || apart
        || above.bound >= below.bound
        || !above.except.is_empty()
        || !below.except.is_empty()
    {
        return None;
    }
    let message = format!(
        "No {} can be within both limits: never above {}, and never below {}.",
        above.measure.phrase(),
        bound_told(above, context.style()),
        bound_told(below, context.style())
    );
    Some(
        context
            .finding(&RULE, other.span, message)
            .related(context.place(one.span), "the other limit")
            .note("One of the two is wrong, or needs a condition."),
    )
}

/// A `usual` whose range, or a part of it, lies beyond a `never` that holds
/// wherever the `usual` does.
fn beyond(
    context: &StanzaContext<'_>,
    never: &LimitBound,
    usual: &LimitBound,
    ends: &[&LimitBound],
) -> Option<Finding> {
    let holds_wherever = asks_alike(&never.when, &usual.when) || includes(&usual.when, &never.when);
    if !holds_wherever || !never.except.is_empty() {
        return None;
    }
    // The end of the usual range that lies nearest to what is allowed.
    let nearest = ends.iter().find(|bound| bound.side != never.side);
    let wholly = match (never.side, nearest) {
        (Side::High, Some(low)) => low.bound > never.bound,
        (Side::Low, Some(high)) => high.bound < never.bound,
        (_, None) => false,
    };
    // Each usual line is told once, by its bound on the side of the never.
    if usual.side != never.side && ends.iter().any(|bound| bound.side == never.side) {
        return None;
    }
    let partly = usual.side == never.side
        && match never.side {
            Side::High => usual.bound > never.bound,
            Side::Low => usual.bound < never.bound,
        };
    if !wholly && !partly {
        return None;
    }
    let side = if never.side == Side::High {
        "above"
    } else {
        "below"
    };
    let (lies, severity, then) = match wholly {
        true => (
            "is entirely",
            Severity::Error,
            "Every order within the usual range would exceed the limit.",
        ),
        false => (
            "goes",
            Severity::Warning,
            "An order within the usual range can exceed the limit.",
        ),
    };
    let message = format!(
        "The usual {}, {}, {lies} {side} the absolute limit of {}.",
        usual.measure.phrase(),
        range(context, usual, ends),
        bound_told(never, context.style())
    );
    Some(
        context
            .finding(&RULE, usual.span, message)
            .severity(severity)
            .related(context.place(never.span), "the absolute limit (`never`)")
            .note(format!(
                "{then} Find out from the source which of the two is wrong."
            )),
    )
}

/// A fluid, or a drug, that stands under `with` and under `not with`.
fn fluids(context: &StanzaContext<'_>, drug: &Drug) -> Vec<Finding> {
    let (Some((with, span)), Some(not_with)) = (&drug.with, drug.not_with_span) else {
        return Vec::new();
    };
    let both = with.iter().filter(|name| drug.not_with.contains(name));
    let told = both.map(|name| {
        let message = format!(
            "{} is listed both to be mixed with {name} (`with`) and not to be (`not with`).",
            drug.name
        );
        context
            .finding(&RULE, not_with, message)
            .related(context.place(*span), "the line that allows it")
            .note("Find out from the source which of the two is wrong.")
    });
    told.collect()
}

/// A route that `only by` names and `never by` forbids, for everybody.
fn routes(context: &StanzaContext<'_>, drug: &Drug) -> Vec<Finding> {
    let Some((only, span)) = &drug.only_by else {
        return Vec::new();
    };
    let mut told = Vec::new();
    for never in &drug.prohibitions {
        let Prohibited::Routes(routes) = &never.what else {
            continue;
        };
        let always = never.when == When::default() && never.except.is_empty();
        let both = routes.iter().find(|route| always && only.contains(route));
        if let Some(route) = both {
            let message = format!(
                "{} is listed both to be given {route} (`only by`) and never to be (`never by`).",
                drug.name,
                route = by_route(*route)
            );
            told.push(
                context
                    .finding(&RULE, never.span, message)
                    .related(context.place(*span), "the line that allows it")
                    .note("Find out from the source which of the two is wrong."),
            );
        }
    }
    told
}

/// The range of a `usual`, as it is written.
fn range(context: &StanzaContext<'_>, usual: &LimitBound, ends: &[&LimitBound]) -> String {
    let other = ends.iter().find(|bound| bound.side != usual.side);
    match other {
        Some(other) => {
            let (one, other) = (usual.bound_span, other.bound_span);
            let whole = Span::new(one.start.min(other.start), one.end.max(other.end));
            format!("`{}`", context.text(whole))
        }
        None => {
            let bound = bound_told(usual, context.style());
            match usual.side {
                Side::High => format!("up to {bound}"),
                Side::Low => format!("{bound} or more"),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_range_is_told_as_it_is_written() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  never dose above 20 mg/h
  usual dose 30 to 40 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual dose, `30 to 40 mg/h`, is entirely above the absolute limit of 20 mg/h.

drug solvamine "Another drug with limits"
  supplied   40 mg in 4 mL
  never dose above 20 mg/h
  usual dose 30 mg/h or more
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual dose, 30 mg/h or more, is entirely above

drug restamine "A third drug with limits"
  supplied   40 mg in 4 mL
  never interval below 8 h
  usual interval up to 6 h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual interval, up to 6 h, is entirely below the absolute limit of 8 h.
"#,
        );
    }

    #[test]
    fn a_usual_that_goes_beyond() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  never dose above 20 mg/h
  never interval below 8 h
  usual dose 10 to 30 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual dose, `10 to 30 mg/h`, goes above the absolute limit of 20 mg/h.
  usual interval 6 to 24 h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual interval, `6 to 24 h`, goes below the absolute limit of 8 h.

drug solvamine "Its usual dose in one area alone"
  supplied   40 mg in 4 mL
  never dose above 20 mg/h except in adult-icu
  usual dose 10 to 30 mg/h in adult-icu
"#,
        );
    }

    #[test]
    fn a_single_dose_gives_way_to_one_for_loads() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "More as a load, in one area"
  supplied   40 mg in 4 mL
  never single dose above 10 mg/kg
  never single dose above 20 mg/kg as loading
  usual single dose 2 to 8 mg/kg
  usual single dose 15 to 18 mg/kg as loading in adult-icu
  never single dose below 12 mg/kg as loading

drug solvamine "More as a load elsewhere"
  supplied   40 mg in 4 mL
  never single dose above 10 mg/kg
  never single dose above 20 mg/kg as loading in ward
  usual single dose 15 to 18 mg/kg as loading in adult-icu
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual single dose, `15 to 18 mg/kg`, is entirely above the absolute limit of 10 mg/kg.

drug restamine "A dose does not give way"
  supplied   40 mg in 4 mL
  never dose above 10 mg/kg/h
  never dose above 20 mg/kg/h as loading
  usual dose 15 to 18 mg/kg/h as loading
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual dose
"#,
        );
    }

    /// The band is written twice, and is one.
    #[test]
    fn limits_of_one_band() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug for children"
  supplied   40 mg in 4 mL
  never dose above 20 mg/h for 2 to 10 kg
  usual dose 30 to 40 mg/h for 2 to 10 kg
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: The usual dose, `30 to 40 mg/h`, is entirely above
  usual dose 30 to 40 mg/h for 10 to 20 kg
"#,
        );
    }

    #[test]
    fn what_is_allowed_and_forbidden() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline, glucose-5
  not with   glucose-5
  ^^^^^^^^^^^^^^^^^^^^ limit.contradict: limitamine is listed both to be mixed with glucose-5 (`with`) and not to be (`not with`).
  only by    central vein, peripheral vein
  never by   peripheral vein
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.contradict: limitamine is listed both to be given by a peripheral vein (`only by`) and never to be (`never by`).
  usual dose 10 to 20 mg/h

drug solvamine "By a hand vein for some alone"
  supplied   40 mg in 4 mL
  only by    central vein, peripheral vein
  never by   peripheral vein for 2 to 10 kg
  usual dose 10 to 20 mg/h
"#,
        );
    }
}
