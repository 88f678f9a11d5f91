#![doc = include_str!("left_over.md")]

use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Order, ThenSpec, WhatSpec};
use gutta_quantity::{Exact, Rounding, units};

use crate::telling::{patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.left-over",
    severity: Severity::Information,
    locked: false,
    page: include_str!("left_over.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let share = &context.workspace.house.left_over;
    for phase in (0..order.phases.len()).filter(|phase| is_given_up(order, *phase)) {
        // For whom least is left.
        let least = values
            .views
            .iter()
            .filter_map(|view| least(view, phase).map(|least| (view, least)))
            .min_by(|one, other| one.1.share.cmp(&other.1.share));
        let Some((view, least)) = least.filter(|(_, least)| least.share > *share) else {
            continue;
        };
        let Some(run) = order.phases.get(phase).and_then(|phase| phase.runs.last()) else {
            continue;
        };
        let style = context.style();
        let (left, bag) = (
            told(&least.left, units::ML, style),
            told(&least.bag, units::ML, style),
        );
        let at = match patient(view, &least.x, style) {
            Some(at) if !least.constant => format!(" even at {at}, where it is least"),
            _ => String::new(),
        };
        let parts = style.decimal_significant(&(share * &Exact::int(100)), 2, Rounding::HalfUp);
        let message =
            format!("{left} of the {bag} in the bag is left over{at}, more than {parts} % of it.");
        let mut finding = context.finding(&RULE, run.span, message);
        let hung = view
            .phases
            .get(phase)
            .and_then(|phase| order.phases.get(phase.bag.phase)?.bag.as_ref());
        if let Some(bag) = hung {
            finding = finding.related(context.place(bag.span), "the bag");
        }
        findings
            .push(finding.note(
                "A smaller bag may be enough, or all of it may have been meant (`run all`).",
            ));
    }
}

/// Whether the bag of this phase is taken down at its end: another one is
/// hung, or the order ends without going on from it.
fn is_given_up(order: &Order, phase: usize) -> bool {
    let Some(spec) = order.phases.get(phase) else {
        return false;
    };
    let Some(last) = spec.runs.last() else {
        return false;
    };
    let to_its_end = matches!(last.what, Some(WhatSpec::All(_)));
    let goes_on = match &spec.then {
        Some((ThenSpec::Renew(_), _)) => true,
        Some((ThenSpec::KeepOpen { solution, .. }, _)) => solution.is_none(),
        Some((ThenSpec::Stop, _)) | None => false,
    };
    match order.phases.get(phase + 1) {
        Some(next) => next.bag.is_some() && !to_its_end,
        None => !goes_on && !to_its_end,
    }
}

/// What is left of a bag for the patient who leaves the least share of it.
struct Least {
    x: Exact,
    left: Exact,
    bag: Exact,
    share: Exact,
    constant: bool,
}

fn least(view: &View, phase: usize) -> Option<Least> {
    let derived = view.phases.get(phase)?;
    let share = derived.left.div(&derived.bag.volume)?;
    let least = share.min_value()?;
    Some(Least {
        left: derived.left.at(&least.x)?,
        bag: derived.bag.volume.at(&least.x)?,
        share: least.value,
        constant: share.is_constant().is_some(),
        x: least.x,
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    fn found(lines: &str) -> Vec<String> {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder saline-bag \"Saline\"\n  patient    weight 40 to 80 kg\n  route      peripheral vein\n  pump       volumetric\n  hang       500 mL of saline\n{lines}\n"
        );
        findings(&text)
            .into_iter()
            .filter(|finding| finding.rule.name == "volume.left-over")
            .map(|finding| finding.message)
            .collect()
    }

    #[test]
    fn half_a_bag_is_allowed() {
        assert_eq!(found("  run 250 mL over 1 h\n  then stop"), [""; 0]);
        assert_eq!(
            found("  run 249 mL over 1 h\n  then stop"),
            ["251 mL of the 500 mL in the bag is left over, more than 50 % of it."]
        );
    }

    #[test]
    fn one_bag_for_all_weights_fits_some_of_them() {
        assert_eq!(found("  run 4 mL/kg over 1 h\n  then stop"), [""; 0]);
        assert_eq!(
            found("  run 3 mL/kg over 1 h\n  then stop"),
            [
                "260 mL of the 500 mL in the bag is left over even at 80 kg, where it is least, more than 50 % of it."
            ]
        );
    }

    #[test]
    fn what_goes_on_leaves_nothing() {
        assert_eq!(found("  run 50 mL over 1 h\n  then renew"), [""; 0]);
        assert_eq!(found("  run all over 1 h\n  then stop"), [""; 0]);
    }
}
