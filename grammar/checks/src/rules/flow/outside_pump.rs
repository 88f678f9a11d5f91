#![doc = include_str!("outside_pump.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::Values;
use gutta_protocol::model::order::{Named, Order};
use gutta_protocol::model::reference::Pump;
use gutta_protocol::pump::{Outside, outside};
use gutta_quantity::{Exact, Style, units};

use crate::beyond::Beyond;
use crate::flows::{Flow, Flowing, beyond};
use crate::telling::{sentence, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.outside-pump",
    severity: Severity::Error,
    locked: false,
    page: include_str!("outside_pump.md"),
    check: Check::Order(check),
};

/// A bound of a pump.
struct Bound<'a> {
    pump: &'a Named<Pump>,
    why: Outside,
    value: Exact,
    /// Its line in the pump's stanza.
    span: Span,
    bolus: bool,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let flows = context.flows();
    let style = context.style();
    let same = |one: &Bound<'_>, other: &Bound<'_>| {
        (one.pump.id, one.why, one.span) == (other.pump.id, other.why, other.span)
    };
    for passed in beyond(flows, |flow| judge(order, flow), same) {
        let bound = &passed.bound;
        let pump = &bound.pump.name;
        let value = told(&bound.value, units::ML_PER_H, style);
        let (limit, what) = match (bound.why, bound.bolus) {
            (Outside::Above, true) => (
                format!("{value}, the fastest at which `{pump}` can give a bolus"),
                "the fastest bolus of this pump",
            ),
            (Outside::Above, false) => (
                format!("{value}, the fastest that `{pump}` can run"),
                "the fastest that this pump can run",
            ),
            (Outside::Below, _) => (
                format!("{value}, the slowest that `{pump}` can run"),
                "the slowest that this pump can run",
            ),
            (Outside::Between, _) => (value.to_string(), "the next range of this pump begins here"),
        };
        let subject = passed.flow.subject(order);
        let beyond = &passed.beyond;
        let message = if bound.why == Outside::Between {
            let hole =
                format!("between two ranges of `{pump}`, the next of which begins at {limit}");
            in_a_hole(beyond, values, (&subject, &hole), style)
        } else {
            beyond.told(values, &subject, &limit, units::ML_PER_H, style)
        };
        let advice = match (bound.why, bound.bolus) {
            (_, true) => "Give the bolus over a longer time.",
            (Outside::Above, _) => "Choose a longer time, a stronger mixture or another pump.",
            (Outside::Below, _) => "Choose a weaker mixture, a shorter time or another pump.",
            (Outside::Between, _) => "Choose another strength or another pump.",
        };
        findings.push(
            context
                .finding(&RULE, passed.flow.span, message)
                .related(context.workspace.place(bound.pump.id, bound.span), what)
                .note(advice),
        );
    }
}

fn in_a_hole(
    beyond: &Beyond,
    values: &Values,
    (subject, hole): (&str, &str),
    style: Style,
) -> String {
    let value = beyond.told_value(units::ML_PER_H, style);
    match (beyond.whom(values, style), beyond.patient(values, style)) {
        (Some(whom), Some(at)) => {
            format!("{} {subject} is {hole}: {value} at {at}.", sentence(&whom))
        }
        _ => format!("{} is {value}, {hole}.", sentence(subject)),
    }
}

fn judge<'a>(order: &'a Order, flow: &Flow) -> Vec<(Bound<'a>, Beyond)> {
    let pump = order
        .phases
        .get(flow.phase)
        .and_then(|phase| phase.pump.as_ref());
    let Some(pump) = pump else {
        return Vec::new();
    };
    if let Flowing::Bolus(_) = flow.of {
        return of_bolus(pump, flow).into_iter().collect();
    }
    let passed = outside(&pump.value, &flow.flow).into_iter();
    passed
        .filter_map(|(why, value, regions)| {
            let level = Curve::constant(flow.flow.span().clone(), value.clone());
            let mut beyond = match why {
                Outside::Above => Beyond::above(flow.view, &flow.flow, &level)?,
                Outside::Below | Outside::Between => Beyond::below(flow.view, &flow.flow, &level)?,
            };
            if why == Outside::Between {
                beyond = beyond.in_the_midst(&flow.flow, regions)?;
            }
            let line = pump.value.flows.iter().find(|range| {
                let end = if why == Outside::Above {
                    &range.high
                } else {
                    &range.low
                };
                *end == value
            })?;
            let bound = Bound {
                pump,
                why,
                value,
                span: line.span,
                bolus: false,
            };
            Some((bound, beyond))
        })
        .collect()
}

/// A bolus has a fastest rate alone.
fn of_bolus<'a>(pump: &'a Named<Pump>, flow: &Flow) -> Option<(Bound<'a>, Beyond)> {
    let (value, span) = pump.value.bolus.clone()?;
    let level = Curve::constant(flow.flow.span().clone(), value.clone());
    let bound = Bound {
        pump,
        why: Outside::Above,
        value,
        span,
        bolus: true,
    };
    Some((bound, Beyond::above(flow.view, &flow.flow, &level)?))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_fastest_and_the_slowest_themselves_can_be_run() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       10 to 300 mL/h in steps of 1 mL/h

order saline-by-weight "Saline"
  patient    weight 10 to 60 kg
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        all at 5 mL/kg/h
  then       renew

order saline-slow "Saline"
  patient    weight 10 to 60 kg
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        all at 1 mL/kg/h
  then       renew
"#,
        );
    }

    #[test]
    fn the_weight_at_which_it_begins() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       10 to 300 mL/h in steps of 1 mL/h

order saline-by-weight "Saline"
  patient    weight 8 to 64 kg
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        all at 4.9 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: Above 61.2 kg the flow is more than 300 mL/h, the fastest that `bedside` can run: 313.6 mL/h at 64 kg.
  then       renew

order saline-slow "Saline"
  patient    weight 8 to 64 kg
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        all at 1.1 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: Below 9.1 kg the flow is less than 10 mL/h, the slowest that `bedside` can run: 8.8 mL/h at 8 kg.
  then       renew
"#,
        );
    }

    #[test]
    fn the_other_of_weight_and_surface_is_named_where_it_matters() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       10 to 300 mL/h in steps of 1 mL/h

order saline-by-weight "Saline"
  patient    weight 10 to 64 kg
  patient    surface 0.5 to 2 m2
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        all at 5 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: Above 60 kg the flow is more than 300 mL/h
  then       renew

order saline-by-both "Saline"
  patient    weight 10 to 50 kg
  patient    surface 0.5 to 2 m2
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  run        500 mL at 5 mL/kg/h
  run        all at 200 mL/m2/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: The flow is 400 mL/h (with 2 m2), more than 300 mL/h
  then       renew
"#,
        );
    }

    #[test]
    fn a_hole_between_two_ranges() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump gapped "Pump with a hole"
  flow       1 to 50 mL/h in steps of 1 mL/h
  flow       100 to 300 mL/h in steps of 1 mL/h

order saline-in-the-hole "Saline"
  route      peripheral vein
  pump       gapped
  hang       1 L of saline
  run        all at 75 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: The flow is 75 mL/h, between two ranges of `gapped`, the next of which begins at 100 mL/h.
  then       renew
"#,
        );
    }

    #[test]
    fn adjusting_boluses_and_keeping_open() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       1 to 100 mL/h in steps of 1 mL/h
  bolus      up to 600 mL/h

order saline-adjusted "Saline"
  route      peripheral vein
  pump       bedside
  hang       1 L of saline
  bolus      60 mL over 5 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: The flow of the bolus is 720 mL/h, more than 600 mL/h, the fastest at which `bedside` can give a bolus.
  bolus      50 mL over 5 min
  run        500 mL at 50 mL/h
  adjust     50 to 150 mL/h by 10 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: The flow at the highest step is 150 mL/h
  then       keep open 0.5 mL/h with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: The keep-open flow is 0.5 mL/h
"#,
        );
    }
}
