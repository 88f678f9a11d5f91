#![doc = include_str!("hang_time.md")]

use gutta_notation::Span;
use gutta_protocol::derive::{At, View};
use gutta_protocol::model::order::Order;
use gutta_quantity::Exact;
use gutta_quantity::print::duration;

use crate::telling::{sentence, whom};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.hang-time",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("hang_time.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let of_drug = order
        .drug
        .as_ref()
        .and_then(|drug| Some((drug.id, drug.value.hang_time.as_ref()?)));
    let (allowed, place) = match (&of_drug, &context.workspace.house.hang_time) {
        (Some((id, (time, span))), _) => (time, Some(context.workspace.place(*id, *span))),
        (None, Some(time)) => (time, None),
        (None, None) => return,
    };
    for index in 0..order.phases.len() {
        let found = values
            .views
            .iter()
            .find_map(|view| hangs(order, view, index, allowed));
        let Some((span, whom, longest)) = found else {
            continue;
        };
        let longest = duration(&longest);
        let message = match whom {
            Some(whom) => format!(
                "{} a bag hangs longer than {}: up to {longest}.",
                sentence(&whom),
                duration(allowed)
            ),
            None => format!(
                "A bag hangs {longest}, longer than the {} it may.",
                duration(allowed)
            ),
        };
        let mut finding = context.finding(&RULE, span, message);
        finding = match place {
            Some(place) => finding.related(place, "how long the drug may hang"),
            None => finding.note("The house's own hang time holds, since the drug states none."),
        };
        findings.push(finding.note(format!(
            "Write `change bag every {}`, or hang a smaller bag.",
            duration(allowed)
        )));
    }
}

/// The run during which a phase's own bag hangs too long, for whom, and how
/// long at most; at the slowest setting that it may be adjusted to.
fn hangs(
    order: &Order,
    view: &View,
    index: usize,
    allowed: &Exact,
) -> Option<(Span, Option<String>, Exact)> {
    let (spec, phase) = (order.phases.get(index)?, view.phases.get(index)?);
    if !phase.fresh {
        return None;
    }
    let mut hangs = view.patients.constant(Exact::ZERO);
    for bolus in &phase.boluses {
        hangs = hangs.add(&bolus.time)?;
    }
    // Later phases without a bag of their own go on with this one.
    let sharing = view
        .phases
        .iter()
        .enumerate()
        .skip(index)
        .take_while(|(at, phase)| *at == index || !phase.fresh);
    for (at, phase) in sharing {
        for run in &phase.runs {
            let flow = view.flow_of(order, at, run.index, At::Low)?;
            hangs = hangs.add(&run.volume.div(&flow)?)?;
        }
    }
    if let Some(change) = &spec.change_bag {
        hangs = hangs.min(&view.patients.constant(change.value.clone()))?;
    }
    let regions = hangs.where_above(&view.patients.constant(allowed.clone()))?;
    let span = phase.runs.last()?.span;
    (!regions.is_empty()).then_some(())?;
    Some((
        span,
        whom(view, &regions).filter(|_| hangs.is_constant().is_none()),
        hangs.max_value()?.value,
    ))
}
