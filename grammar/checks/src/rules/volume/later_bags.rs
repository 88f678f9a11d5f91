#![doc = include_str!("later_bags.md")]

use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Order, WhatSpec};
use gutta_quantity::{Exact, units};

use crate::telling::{patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.later-bags",
    severity: Severity::Error,
    locked: true,
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
            let most = kept(view, phase, run)?;
            Some((view, most))
        });
        let Some((view, kept)) = kept.max_by(|one, other| one.1.share.cmp(&other.1.share)) else {
            continue;
        };
        let Some(line) = order.phases.get(phase).and_then(|spec| spec.runs.get(run)) else {
            continue;
        };
        let style = context.style();
        let at = match patient(view, &kept.x, style) {
            Some(at) if !kept.constant => format!(" at {at}, where they differ most"),
            _ => String::new(),
        };
        let (whole, all) = (
            told(&kept.whole, units::ML, style),
            told(&kept.all, units::ML, style),
        );
        let message = format!(
            "`all` is the {all} left in the first bag, but {whole} of each later one: it is not clear how much is given each time{at}."
        );
        findings.push(
            context
                .finding(&RULE, line.span, message)
                .note("State how much is run each time; or give the first dose in a phase and from a bag of its own."),
        );
    }
}

/// The run of a phase that gives what is left in the bag, again and again.
fn repeated_all(order: &Order, phase: usize) -> Option<usize> {
    let mut runs = order.phases.get(phase)?.runs.iter();
    runs.position(|run| {
        let again = run
            .every
            .as_ref()
            .is_some_and(|every| every.count != Some(1));
        again && matches!(run.what, Some(WhatSpec::All(_)))
    })
}

/// The first bag and a later one, for the patient for whom they differ most.
struct Kept {
    x: Exact,
    /// What `all` is of the first.
    all: Exact,
    /// What it is of a later one.
    whole: Exact,
    /// The difference, as a share of the bag.
    share: Exact,
    constant: bool,
}

/// A later bag is primed as the first, and gives what comes each time.
fn kept(view: &View, phase: usize, run: usize) -> Option<Kept> {
    let derived = view.phases.get(phase)?;
    let bag = &derived.bag.volume;
    let mut whole = bag.clone();
    let primes = view.phases.get(derived.bag.phase)?.prime.iter();
    let each_time = derived.boluses.iter().filter(|bolus| bolus.each_time);
    for volume in primes.chain(each_time.map(|bolus| &bolus.volume)) {
        whole = whole.sub(volume)?;
    }
    let all = &derived.runs.get(run)?.volume;
    let once = whole.sub(all)?;
    let share = once.div(bag)?;
    let most = share.max_value()?;
    most.value.is_positive().then_some(())?;
    Some(Kept {
        all: all.at(&most.x)?,
        whole: whole.at(&most.x)?,
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
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.later-bags: `all` is the 450 mL left in the first bag, but 500 mL of each later one: it is not clear how much is given each time.
"#,
        );
        assert(
            r#"  bolus      1 mL/kg over 10 min
  run        all over 5 h every 8 h for 3 doses
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.later-bags: `all` is the 420 mL left in the first bag, but 500 mL of each later one: it is not clear how much is given each time at 80 kg, where they differ most.
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

    #[test]
    fn nor_is_what_an_earlier_phase_ran() {
        assert(
            r#"  phase      first
    run      100 mL at 50 mL/h
  phase      again
    run      all over 5 h every 8 h for 3 doses
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.later-bags: `all` is the 400 mL left in the first bag, but 500 mL of each later one: it is not clear how much is given each time.
"#,
        );
    }
}
