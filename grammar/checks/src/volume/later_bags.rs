#![doc = include_str!("later_bags.md")]

use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Order, WhatSpec};
use gutta_quantity::{Exact, units};

use crate::telling::{patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.later-bags",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("later_bags.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    for phase in 0..order.phases.len() {
        let Some(run) = repeated_all(order, phase) else {
            continue;
        };
        let kept = values.views.iter().filter_map(|view| {
            let most = kept(view, order, phase, run)?;
            Some((view, most))
        });
        let Some((view, kept)) = kept.max_by(|one, other| one.1.share.cmp(&other.1.share)) else {
            continue;
        };
        let Some(line) = order.phases.get(phase).and_then(|spec| spec.runs.get(run)) else {
            continue;
        };
        let at = match patient(view, &kept.x) {
            Some(at) if !kept.constant => format!(" at {at}, where it is most"),
            _ => String::new(),
        };
        let (left, bag, all) = (
            told(&kept.left, units::ML),
            told(&kept.bag, units::ML),
            told(&kept.all, units::ML),
        );
        let message = format!(
            "`all` is the {all} that the first bag still holds: of each later bag, {left} of {bag} is not given{at}."
        );
        findings.push(
            context.finding(&RULE, line.span, message).note(
                "Hang the first bag in a phase of its own, or write how much runs each time.",
            ),
        );
    }
}

/// The run of a phase that gives what is left in the bag, again and again.
fn repeated_all(order: &Order, phase: usize) -> Option<usize> {
    let mut runs = order.phases.get(phase)?.runs.iter();
    runs.position(|run| run.every.is_some() && matches!(run.what, Some(WhatSpec::All(_))))
}

/// What stays of a later bag, for the patient of whom most stays.
struct Kept {
    x: Exact,
    left: Exact,
    bag: Exact,
    all: Exact,
    share: Exact,
    constant: bool,
}

/// What the first bag gives once: boluses and runs that do not repeat.
fn kept(view: &View, order: &Order, phase: usize, run: usize) -> Option<Kept> {
    let (spec, derived) = (order.phases.get(phase)?, view.phases.get(phase)?);
    let boluses = derived.boluses.iter().filter(|bolus| !bolus.each_time);
    let runs = spec.runs.iter().zip(&derived.runs).take(run);
    let runs = runs.filter(|(spec, _)| spec.every.is_none());
    let mut once = view.patients.constant(Exact::ZERO);
    for volume in boluses
        .map(|bolus| &bolus.volume)
        .chain(runs.map(|(_, run)| &run.volume))
    {
        once = once.add(volume)?;
    }
    let bag = &derived.bag.volume;
    let share = once.div(bag)?;
    let most = share.max_value()?;
    most.value.is_positive().then_some(())?;
    Some(Kept {
        left: once.at(&most.x)?,
        bag: bag.at(&most.x)?,
        all: derived.runs.get(run)?.volume.at(&most.x)?,
        share: most.value,
        constant: once.is_constant().is_some(),
        x: most.x,
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    fn assert(lines: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

order saline-bag "Saline"
  patient    weight 40 to 80 kg
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
{lines}"#
        ));
    }

    #[test]
    fn a_bolus_once_is_not_in_the_later_bags() {
        assert(
            r#"  bolus      50 mL over 10 min
  run        all over 5 h every 8 h for 3 doses
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.later-bags: of each later bag, 50 mL of 500 mL is not given.
"#,
        );
        assert(
            r#"  bolus      1 mL/kg over 10 min
  run        all over 5 h every 8 h for 3 doses
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.later-bags: `all` is the 420 mL that the first bag still holds: of each later bag, 80 mL of 500 mL is not given at 80 kg, where it is most.
"#,
        );
    }

    #[test]
    fn a_bolus_each_time_is() {
        assert(
            r#"  bolus      50 mL over 10 min, each time
  run        all over 5 h every 8 h for 3 doses
"#,
        );
        assert("  run        all over 5 h every 8 h for 3 doses\n");
    }
}
