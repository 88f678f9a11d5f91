#![doc = include_str!("range.md")]

use gutta_protocol::model::size::Extent;
use gutta_quantity::{Atom, Style, Unit, units};

use super::together;
use crate::telling::{high_as_written, low_as_written, range_as_written};
use crate::words::all_of;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.range",
    severity: Severity::Error,
    locked: false,
    page: include_str!("range.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    let (weight, surface, age) = (set.weight(), set.surface(), set.age());
    for member in &set.members {
        let order = &member.order;
        let (from_order, states) = (order.header, &order.states);
        let concerns = [
            (&weight, &order.weight, states.weight, units::KG, "weights"),
            (
                &surface,
                &order.surface,
                states.surface,
                units::M2,
                "body surface areas",
            ),
            (&age, &order.age, states.age, Unit::new(Atom::Years), "ages"),
        ];
        let style = context.style();
        for (wanted, own, stated, unit, word) in concerns {
            let (Some(wanted), Some(own)) = (wanted, own) else {
                continue;
            };
            let Some(missing) = left_out(wanted, own, unit, style) else {
                continue;
            };
            let name = &member.name.value;
            let message = format!(
                "The set covers {word} of {}, but `{name}` covers {}: {missing} it was never checked.",
                range_as_written(wanted, unit, style),
                range_as_written(own, unit, style)
            );
            let place = context
                .workspace
                .place(order.id, stated.unwrap_or(from_order));
            findings.push(
                context
                    .finding(&RULE, member.name.span, message)
                    .related(place, "the patients of the order")
                    .note("Widen the order and check what is then found, or narrow the set."),
            );
        }
    }
}

/// What of the wanted range is not in the other: `above 100 kg`.
fn left_out(wanted: &Extent, own: &Extent, unit: Unit, style: Style) -> Option<String> {
    let mut parts = Vec::new();
    if let Some(low) = &own.low
        && wanted.low.as_ref().is_none_or(|wanted| wanted < low)
        && let Some(low) = low_as_written(own, unit, style)
    {
        parts.push(format!("below {low}"));
    }
    if let Some(high) = &own.high {
        let beyond = match &wanted.high {
            None => true,
            Some(wanted_high) => {
                wanted_high > high
                    || wanted_high == high && own.high_excluded && !wanted.high_excluded
            }
        };
        if beyond && let Some(high) = high_as_written(own, unit, style) {
            let word = if own.high_excluded { "from" } else { "above" };
            parts.push(format!("{word} {high}"));
        }
    }
    (!parts.is_empty()).then(|| all_of(&parts))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_areas_range_stands_in_for_the_orders_and_the_sets() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-steady "Sodium chloride 0.9 %"
  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 1 mL/kg/h
  then       renew

order saline-for-all "Sodium chloride 0.9 %"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 80 mL/h
  then       renew

set from-children-on "From children on"
  patient    weight 30 to 160 kg
  include    saline-steady, saline-for-all
             ^^^^^^^^^^^^^ set.range: The set covers weights of 30 to 160 kg, but `saline-steady` covers 40 to 150 kg: below 40 kg and above 150 kg it was never checked.

set of-the-ward "The ward's"
  area       ward
  include    saline-steady, saline-for-all

set without-patients "Says nothing of patients"
  include    saline-steady, saline-for-all
"#,
        );
    }

    #[test]
    fn ages_count_too() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-young "Sodium chloride 0.9 %"
  patient    age 1 to 10 years
  patient    weight 10 to 40 kg
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 1 mL/kg/h
  then       renew

set children "Children"
  patient    age 1 to 16 years
  include    saline-young
             ^^^^^^^^^^^^ set.range: above 10 years
"#,
        );
    }
}
