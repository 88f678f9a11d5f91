#![doc = include_str!("overlap.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, View};
use gutta_protocol::model::order::{EverySpec, Order};
use gutta_quantity::units;

use crate::beyond::Beyond;
use crate::flows::{Flow, Flowing, beyond};
use crate::telling::clock;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.overlap",
    severity: Severity::Error,
    locked: false,
    page: include_str!("overlap.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let style = context.style();
    let judge = |flow: &Flow| {
        let found = values.views.get(flow.view).and_then(|view| {
            let (every, time) = each(order, view, flow)?;
            let interval = view.patients.constant(every.interval.value.clone());
            Beyond::above(flow.view, &time, &interval)
        });
        found.map(|beyond| ((), beyond)).into_iter().collect()
    };
    for passed in beyond(context.flows(), judge, |(), ()| true) {
        let subject = match passed.flow.at {
            At::Low => "the time of each dose at the lowest step",
            At::Start | At::High => "the time of each dose",
        };
        let limit = format!(
            "the {} until the next is due",
            clock(&passed.beyond.bound, style)
        );
        let message = passed.beyond.told(values, subject, &limit, units::H, style);
        findings.push(
            context
                .finding(&RULE, passed.flow.span, message)
                .note("Give each dose in less time, or less often: two doses at once are more than the order states."),
        );
    }
}

/// How often a repeated run is given, and how long each giving takes, with the
/// boluses that come with it.
fn each<'a>(order: &'a Order, view: &View, flow: &Flow) -> Option<(&'a EverySpec, Curve)> {
    let Flowing::Run(run) = flow.of else {
        return None;
    };
    let spec = order.phases.get(flow.phase)?.runs.get(run)?;
    let every = spec.every.as_ref().filter(|every| every.count != Some(1))?;
    let phase = view.phases.get(flow.phase)?;
    let mut time = phase.runs.get(run)?.volume.div(&flow.flow)?;
    for bolus in phase.boluses.iter().filter(|bolus| bolus.each_time) {
        time = time.add(&bolus.time)?;
    }
    Some((every, time))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_dose_that_is_not_through_when_the_next_begins() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-overlap "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
  mix        1.5 g made up to 50 mL with saline
  run        all over 4 h every 3 h for 4 doses
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.overlap: The time of each dose is 4 h, more than the 3 h until the next is due.

order cefuroxime-by-weight "Cefuroxime"
  drug       cefuroxime
  patient    weight 40 to 80 kg
  route      central vein
  pump       volumetric
  mix        30 mg/kg made up to 100 mL with saline
  run        all at 5 mg/min every 6 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.overlap: Above 60 kg the time of each dose is more than the 6 h until the next is due: 8 h at 80 kg.
"#,
        );
    }

    #[test]
    fn one_after_the_other_is_right() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-without-pause "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
  mix        1.5 g made up to 50 mL with saline
  run        all over 8 h every 8 h for 3 doses

order cefuroxime-once "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
  mix        1.5 g made up to 50 mL with saline
  run        all over 8 h every 6 h for 1 doses
"#,
        );
    }
}
