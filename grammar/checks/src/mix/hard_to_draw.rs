#![doc = include_str!("hard_to_draw.md")]

use gutta_protocol::House;
use gutta_protocol::derive::View;
use gutta_protocol::model::order::Preparation;
use gutta_quantity::{Exact, Rounding, units};

use crate::telling::{patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.hard-to-draw",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("hard_to_draw.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let house = &context.workspace.house;
    for (index, spec) in context.analysis.order.phases.iter().enumerate() {
        let Some(bag) = &spec.bag else { continue };
        let mixed = matches!(
            bag.how,
            Preparation::MadeUpTo { .. } | Preparation::AddedTo { .. }
        );
        if !mixed {
            continue;
        }
        let hard = values
            .views
            .iter()
            .find_map(|view| hard(house, view, index));
        if let Some(message) = hard {
            findings.push(
                context
                    .finding(&RULE, bag.span, message)
                    .note("Use a weaker container, or mix a larger amount of which a part is run."),
            );
            continue;
        }
        let part = values.views.iter().find_map(|view| part(view, index));
        if let Some(message) = part {
            findings.push(
                context
                    .finding(&RULE, bag.span, message)
                    .severity(Severity::Information),
            );
        }
    }
}

/// A volume too small to draw, or one that the marks of its syringe do not
/// give well enough.
fn hard(house: &House, view: &View, index: usize) -> Option<String> {
    let draw = view.phases.get(index)?.bag.drug.as_ref()?.draw.as_ref()?;
    let least = draw.min_value()?;
    let for_whom = |x: &Exact| match (draw.is_constant(), patient(view, x)) {
        (None, Some(patient)) => format!(" at {patient}"),
        _ => String::new(),
    };
    let tenth = Exact::ratio(1, 10)?;
    if least.value < tenth {
        let told = told(&least.value, units::ML);
        return Some(format!(
            "Only {told} is to be drawn up{}; below 0.1 mL that cannot be done exactly.",
            for_whom(&least.x)
        ));
    }
    // Each syringe errs most at the least volume that is drawn into it.
    let mut from = Exact::ZERO;
    for (holds, mark) in &house.syringe_marks {
        let least_in = least.value.clone().max(from.clone());
        let drawn = draw.max_value()?.value >= least_in && least_in <= *holds;
        if drawn {
            let off = if draw.is_constant().is_some() {
                (&least.value.round_to(mark, Rounding::HalfUp) - &least.value).abs()
            } else {
                mark * &Exact::ratio(1, 2)?
            };
            let share = off.checked_div(&least_in)?;
            if share > house.counted_as_tolerance && least_in.is_positive() {
                let percent = gutta_quantity::print::decimal(
                    &(&share * &Exact::int(100)),
                    1,
                    Rounding::HalfUp,
                );
                return Some(format!(
                    "Drawing up {} to the nearest mark ({}) can change the strength by {percent} %.",
                    told(&least_in, units::ML),
                    told(mark, units::ML),
                ));
            }
        }
        from.clone_from(holds);
    }
    None
}

/// Part of a container, with what is thrown away.
fn part(view: &View, index: usize) -> Option<String> {
    let drug = view.phases.get(index)?.bag.drug.as_ref()?;
    let containers = drug.containers.as_ref()?.is_constant()?.clone();
    if containers.is_whole() {
        return None;
    }
    let draw = drug.draw.as_ref()?.is_constant()?;
    let opened = containers.ceil();
    let container = draw.checked_div(&containers)?;
    let rest = &(&opened * &container) - draw;
    Some(format!(
        "{} is drawn from {} of {}; {} is thrown away.",
        told(draw, units::ML),
        if opened == Exact::ONE {
            "one container".to_owned()
        } else {
            format!("{opened} containers")
        },
        told(&container, units::ML),
        told(&rest, units::ML),
    ))
}
