#![doc = include_str!("hard_to_draw.md")]

use gutta_protocol::House;
use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Order, Preparation};
use gutta_quantity::{Exact, Rounding, Style, units};

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
            let weaker = "Use a weaker presentation, or make a larger mixture and run part of it";
            let note = if is_insulin(&context.analysis.order) {
                format!("{weaker}; insulin is drawn up with an insulin syringe marked in units.")
            } else {
                format!("{weaker}.")
            };
            findings.push(context.finding(&RULE, bag.span, message).note(note));
            continue;
        }
        let part = values
            .views
            .iter()
            .find_map(|view| part(view, index, context.style()));
        if let Some(message) = part {
            findings.push(
                context
                    .finding(&RULE, bag.span, message)
                    .severity(Severity::Information)
                    .note("Discard the rest of a single-use container; never keep it for another patient."),
            );
        }
    }
}

/// Whether the drug is called an insulin.
fn is_insulin(order: &Order) -> bool {
    order.drug.as_ref().is_some_and(|drug| {
        let drug = &drug.value;
        let mut names = drug.also.iter().chain([&drug.name]);
        names.any(|name| name.contains("insulin"))
    })
}

/// A volume too small to draw, or one that the marks of its syringe do not
/// give well enough.
fn hard(house: &House, view: &View, index: usize) -> Option<String> {
    let style = house.style;
    let draw = view.phases.get(index)?.bag.drug.as_ref()?.draw.as_ref()?;
    let least = draw.min_value()?;
    let for_whom = |x: &Exact| match (draw.is_constant(), patient(view, x, style)) {
        (None, Some(patient)) => format!(" at {patient}"),
        _ => String::new(),
    };
    let tenth = Exact::ratio(1, 10)?;
    if least.value < tenth {
        let told = told(&least.value, units::ML, style);
        return Some(format!(
            "Only {told} is to be drawn up{}; less than 0.1 mL cannot be measured accurately.",
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
                let percent = style.decimal(&(&share * &Exact::int(100)), 1, Rounding::HalfUp);
                return Some(format!(
                    "Drawing up {} to the nearest mark ({}) can change the strength by {percent} %.",
                    told(&least_in, units::ML, style),
                    told(mark, units::ML, style),
                ));
            }
        }
        from.clone_from(holds);
    }
    None
}

/// Part of a container, with what is left over.
fn part(view: &View, index: usize, style: Style) -> Option<String> {
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
        "{} is drawn up from {} of {}; {} is left over.",
        told(draw, units::ML, style),
        if opened == Exact::ONE {
            "one container".to_owned()
        } else {
            format!("{} containers", style.decimal_exact(&opened)?)
        },
        told(&container, units::ML, style),
        told(&rest, units::ML, style),
    ))
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// Message and note on a mix of a drug of this name.
    fn said(name: &str, mix: &str) -> (String, String) {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug {name} "A drug"
  supplied   1,000 units in 10 mL
  with       saline
  usual strength up to 100 units/mL

order a "A"
  drug       {name}
  patient    weight 40 to 80 kg
  route      central vein
  mix        {mix} made up to 50 mL with saline
  run        all over 10 h
  then       stop
"#
        );
        let mut found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "mix.hard-to-draw")
            .unwrap();
        (found.message, found.notes.remove(0))
    }

    #[test]
    fn what_to_draw_it_with() {
        let (message, note) = said("limitamine", "5 units");
        assert_eq!(
            message,
            "Only 0.05 mL is to be drawn up; less than 0.1 mL cannot be measured accurately."
        );
        assert_eq!(
            note,
            "Use a weaker presentation, or make a larger mixture and run part of it."
        );
        let (message, note) = said("insulin-soluble", "0.1 units/kg");
        assert_eq!(
            message,
            "Only 0.04 mL is to be drawn up at 40 kg; less than 0.1 mL cannot be measured accurately."
        );
        assert!(note.ends_with("; insulin is drawn up with an insulin syringe marked in units."));
    }

    #[test]
    fn the_rest_is_never_kept() {
        let (message, note) = said("limitamine", "50 units");
        assert_eq!(
            message,
            "0.5 mL is drawn up from one container of 10 mL; 9.5 mL is left over."
        );
        assert!(note.ends_with("never keep it for another patient."));
    }
}
