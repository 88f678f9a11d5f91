#![doc = include_str!("runs_dry.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Order, ThenSpec, WhatSpec};
use gutta_quantity::Rounding;

use crate::beyond::{Beyond, furthest};
use crate::lines::line_at;
use crate::telling::{clock, sentence};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.runs-dry",
    severity: Severity::Information,
    locked: false,
    page: include_str!("runs_dry.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let found = values
        .views
        .iter()
        .enumerate()
        .filter_map(|(index, view)| before_the_change(order, view, index));
    for (run, change, beyond) in furthest(found, |found| &mut found.2, |_, _| true) {
        let style = context.style();
        // A bag is empty sooner, if anything, than is said.
        let lasts = Rounding::Down.apply(&beyond.value);
        let (lasts, changed) = (clock(&lasts, style), clock(&beyond.bound, style));
        let message = match (beyond.whom(values, style), beyond.patient(values, style)) {
            (Some(whom), Some(at)) => format!(
                "{} the bag is empty before it is due to be changed after {changed}: at {at} it lasts {lasts}.",
                sentence(&whom)
            ),
            _ => format!(
                "The bag is empty after {lasts}{}, before it is due to be changed after {changed}.",
                beyond.with_fixed(values, style).unwrap_or_default()
            ),
        };
        let line = line_at(context, change).map_or(change, |line| line.span);
        findings.push(
            context
                .finding(&RULE, line, message)
                .related(context.place(run), "the run that empties it")
                .note("The next one is started when it is empty (`then renew`): have it ready by then."),
        );
    }
}

/// Where a bag that is renewed is empty before it is to be changed. An order
/// that ends with its bag has no next change.
fn before_the_change(order: &Order, view: &View, index: usize) -> Option<(Span, Span, Beyond)> {
    let (spec, phase) = (order.phases.last()?, view.phases.last()?);
    let change = spec.change_bag.as_ref()?;
    let Some((ThenSpec::Renew(_), _)) = &spec.then else {
        return None;
    };
    let run = phase.runs.last()?;
    let to_its_end = matches!(spec.runs.last()?.what, Some(WhatSpec::All(_)));
    let later = phase.bag.volume.div(&run.flow)?;
    // The first bag is begun with what is primed and with the boluses, which
    // may empty it sooner than the run alone does the next ones.
    let lasts = if to_its_end && phase.fresh {
        let first = view.life_of_bag(order, phase.bag.phase, None)?;
        first.time.min(&later)?
    } else {
        later
    };
    let bound = Curve::constant(lasts.span().clone(), change.value.clone());
    Some((run.span, change.span, Beyond::below(index, &lasts, &bound)?))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_time_of_the_change_itself() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-day "Saline"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 50 mL/h
  change bag every 20 h
  then       renew

order saline-seven "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 70 mL/h
  change bag every 24 h
  ^^^^^^^^^^^^^^^^^^^^^ volume.runs-dry: The bag is empty after 7 h 8 min, before it is due to be changed after 24 h.
  then       renew

order saline-by-weight "Saline"
  patient    weight 20 to 50 kg
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 2 mL/kg/h
  change bag every 20 h
  ^^^^^^^^^^^^^^^^^^^^^ volume.runs-dry: Above 25 kg the bag is empty before it is due to be changed after 20 h: at 50 kg it lasts 10 h.
  then       renew
"#,
        );
    }

    #[test]
    fn an_order_that_ends_has_no_next_change() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-once "Saline"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 100 mL/h
  change bag every 24 h
  then       stop
"#,
        );
    }

    #[test]
    fn the_bolus_is_of_the_first_bags_time() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-day "Saline"
  route      central vein
  pump       volumetric
  hang       500 mL of saline
  bolus      40 mL over 60 min
  run        all at 20 mL/h
  change bag every 24 h
  then       renew

order saline-fast "Saline"
  route      central vein
  pump       volumetric
  hang       500 mL of saline
  bolus      40 mL over 30 min
  run        all at 20 mL/h
  change bag every 24 h
  ^^^^^^^^^^^^^^^^^^^^^ volume.runs-dry: The bag is empty after 23 h 30 min, before it is due to be changed after 24 h.
  then       renew
"#,
        );
    }
}
