#![doc = include_str!("above_ceiling.md")]

use gutta_notation::Span;
use gutta_protocol::StanzaId;
use gutta_protocol::derive::{At, Values};
use gutta_protocol::limits::{Ceiling, CeilingOf, ceilings};
use gutta_protocol::model::order::{AdjustSpec, Answer, Order, RunSpec};
use gutta_protocol::model::size::Size;
use gutta_quantity::units;

use crate::beyond::Beyond;
use crate::flows::{Flow, Flowing, beyond};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.above-ceiling",
    severity: Severity::Error,
    locked: false,
    page: include_str!("above_ceiling.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let flows = context.flows();
    // The pump's flow is rounded down where rounding up would pass a ceiling,
    // so it passes one only where the exact flow does.
    let judge = |flow: &Flow| judge(order, values, flow);
    let same = |one: &Ceiling, other: &Ceiling| same(order, one, other);
    for passed in beyond(flows, judge, same) {
        findings.push(report(
            context,
            values,
            passed.flow,
            &passed.bound,
            &passed.beyond,
        ));
    }
    not_compared(context, values, findings);
}

const fn ceiling_of(of: Flowing) -> CeilingOf {
    match of {
        Flowing::Bolus(_) => CeilingOf::Boluses,
        Flowing::Run(_) | Flowing::KeepOpen => CeilingOf::Runs,
    }
}

fn judge(order: &Order, values: &Values, flow: &Flow) -> Vec<(Ceiling, Beyond)> {
    let Some(view) = values.views.get(flow.view) else {
        return Vec::new();
    };
    let (ceilings, _) = ceilings(order, view, flow.phase, ceiling_of(flow.of));
    ceilings
        .into_iter()
        .filter_map(|ceiling| {
            let beyond = Beyond::above(flow.view, &flow.flow, &ceiling.flow)?;
            Some((ceiling, beyond))
        })
        .collect()
}

/// Where the order names no area, the strictest of all in scope is the one
/// that holds.
fn same(order: &Order, one: &Ceiling, other: &Ceiling) -> bool {
    let unnamed = order.area.named().is_none();
    match (one.area, other.area) {
        (Some(_), Some(_)) if unnamed => true,
        (one_area, other_area) => one_area == other_area && one.size.span == other.size.span,
    }
}

fn report(
    context: &OrderContext<'_>,
    values: &Values,
    flow: &Flow,
    ceiling: &Ceiling,
    beyond: &Beyond,
) -> Finding {
    let order = &context.analysis.order;
    let word = match ceiling_of(flow.of) {
        CeilingOf::Boluses => "bolus ceiling",
        CeilingOf::Runs => "ceiling",
    };
    let style = context.style();
    let bound = style.quantity(&ceiling.size.quantity());
    let whose = match ceiling.area {
        None => "the order's own",
        Some(area) => name(context, area),
    };
    let limit = match ceiling.area {
        None => format!("the order's {word} of {bound}"),
        Some(_) => format!("the {word} of {bound} in `{whose}`"),
    };
    let mut message = beyond.told(values, &flow.subject(order), &limit, units::ML_PER_H, style);
    if ceiling.size.unit != units::ML_PER_H {
        let there = crate::telling::told(&beyond.bound, units::ML_PER_H, style);
        message.push_str(&format!(" The ceiling is {there} there."));
    }
    let finding = context.finding(&RULE, flow.span, message).related(
        ceiling.place(context.workspace, order),
        format!("the {word}"),
    );
    let finding = match ceiling.area {
        None => finding,
        Some(_) => finding.locked(),
    };
    let finding = match (&order.area, ceiling.area) {
        (Answer::Any(_) | Answer::Unanswered, Some(_)) => {
            finding.note("The order names no area, so the strictest ceiling of all areas applies.")
        }
        _ => finding,
    };
    finding.note(advice(order, flow, ceiling))
}

/// What keeps the ceiling, by how the flow was set.
fn advice(order: &Order, flow: &Flow, ceiling: &Ceiling) -> &'static str {
    let phase = order.phases.get(flow.phase);
    let dosed_ceiling = ceiling.size.form.drug().is_some();
    match (flow.of, flow.at) {
        (Flowing::Bolus(_), _) => "Give it over a longer time, or in smaller parts.",
        (Flowing::KeepOpen, _) => "Keep the vein open at a slower flow.",
        (Flowing::Run(_), At::Low | At::High) => {
            let dosed = phase
                .and_then(|phase| phase.adjust.as_ref())
                .is_some_and(AdjustSpec::is_dosed);
            if dosed && !dosed_ceiling {
                "Lower the top of `adjust`, or use a stronger mixture."
            } else {
                "Lower the top of `adjust`."
            }
        }
        (Flowing::Run(run), At::Start) => {
            let run = phase.and_then(|phase| phase.runs.get(run));
            if !run.is_some_and(RunSpec::is_dosed) {
                "Give it over a longer time."
            } else if dosed_ceiling {
                "The ceiling is a dose: give less drug in the same time."
            } else {
                "To keep the dose, use a stronger mixture within the drug's limits; a slower flow gives a smaller dose."
            }
        }
    }
}

fn name<'a>(context: &OrderContext<'a>, stanza: StanzaId) -> &'a str {
    let name = context.workspace.stanza(stanza).name.as_ref();
    name.map_or("the area", |name| name.value.as_str())
}

/// A ceiling that cannot be brought to a flow of this order guards nothing,
/// and that is said. Where the order does not say its area, that is asked first
/// (`limit.unanswered`).
fn not_compared(context: &OrderContext<'_>, values: &Values, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let mut seen: Vec<(Option<StanzaId>, Span)> = Vec::new();
    for view in &values.views {
        for phase in 0..order.phases.len() {
            for of in [CeilingOf::Runs, CeilingOf::Boluses] {
                for (size, area) in ceilings(order, view, phase, of).1 {
                    if area.is_some() && order.area == Answer::Unanswered {
                        continue;
                    }
                    if !seen.contains(&(area, size.span)) {
                        seen.push((area, size.span));
                        findings.push(uncompared(context, area, &size));
                    }
                }
            }
        }
    }
}

fn uncompared(context: &OrderContext<'_>, area: Option<StanzaId>, size: &Size) -> Finding {
    let bound = context.style().quantity(&size.quantity());
    let why = "it cannot be compared with a flow, because the order does not state the weight, the body surface area or the drug that it is for";
    match area {
        None => context.finding(
            &RULE,
            size.span,
            format!("The ceiling of {bound} was not checked: {why}."),
        ),
        Some(area) => {
            let name = name(context, area);
            context
                .finding(
                    &RULE,
                    context.analysis.order.header,
                    format!("The ceiling of {bound} in `{name}` was not checked: {why}."),
                )
                .related(context.workspace.place(area, size.span), "the ceiling")
                .locked()
        }
    }
    .note("State what is missing; a ceiling that is not checked protects nobody.")
}

#[cfg(test)]
mod tests;
