#![doc = include_str!("patient.md")]

use gutta_protocol::model::size::Extent;
use gutta_quantity::{Style, Unit, units};

use crate::telling::{high_as_written, low_as_written, range_as_written};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.patient",
    severity: Severity::Error,
    locked: true,
    page: include_str!("patient.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(area) = order.area.named() else {
        return;
    };
    let concerns = [
        (
            order.states.weight,
            &order.weight,
            &area.value.weight,
            units::KG,
            "weights",
        ),
        (
            order.states.surface,
            &order.surface,
            &area.value.surface,
            units::M2,
            "body surface areas",
        ),
        (
            order.states.age,
            &order.age,
            &area.value.age,
            Unit::new(gutta_quantity::Atom::Years),
            "ages",
        ),
    ];
    for (stated, own, theirs, unit, word) in concerns {
        let (Some(span), Some(own), Some(theirs)) = (stated, own, theirs) else {
            continue;
        };
        if let Some(beyond) = beyond(own, theirs, unit, context.style()) {
            let message = format!(
                "The order covers {word} {beyond}, and `{}` is for {}.",
                area.name,
                range_as_written(theirs, unit, context.style())
            );
            findings.push(
                context
                    .finding(&RULE, span, message)
                    .related(
                        context.workspace.place(area.id, theirs.span),
                        "the patients of the area",
                    )
                    .note(
                        "Narrow the order's range, or name the area to which these patients belong.",
                    ),
            );
        }
    }
}

/// What lies outside, in words.
fn beyond(own: &Extent, theirs: &Extent, unit: Unit, style: Style) -> Option<String> {
    let below = match (&own.low, &theirs.low) {
        (Some(low), Some(least)) if low < least => {
            low_as_written(own, unit, style).map(|low| format!("from {low}"))
        }
        (None, Some(_)) => Some("without a minimum".to_owned()),
        _ => None,
    };
    let above = match (&own.high, &theirs.high) {
        (Some(high), Some(most)) if high > most => {
            high_as_written(own, unit, style).map(|high| format!("up to {high}"))
        }
        (Some(high), Some(most)) if high == most && theirs.high_excluded && !own.high_excluded => {
            high_as_written(own, unit, style).map(|high| format!("up to and including {high}"))
        }
        (None, Some(_)) => Some("without a maximum".to_owned()),
        _ => None,
    };
    match (below, above) {
        (None, None) => None,
        (Some(one), None) | (None, Some(one)) => Some(one),
        (Some(below), Some(above)) => Some(format!("{below} {above}")),
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn ages_are_told_as_they_are_written() {
        assert_findings(
            r#"
use "tarnwick.gtt"

area infants "Infants"
  patient    age 6 months to 2 years
  patient    weight 5 to 15 kg

order saline-infants "Sodium chloride 0.9 %"
  area       infants
  patient    age 25 weeks to 730 days
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.patient: The order covers ages from 25 weeks, and `infants` is for 6 months to 2 years.
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 2 mL/kg/h
  then       renew

order saline-older "Sodium chloride 0.9 %"
  area       infants
  patient    age 1 to 30 months
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.patient: The order covers ages from 1 month up to 30 months, and `infants` is for 6 months to 2 years.
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 2 mL/kg/h
  then       renew

set infants-all "Infants"
  area       infants
  patient    age 3 weeks to 2 years
  include    saline-older
             ^^^^^^^^^^^^ set.range: The set covers ages of 3 weeks to 2 years, but `saline-older` covers 1 month to 30 months: below 1 month it was never checked.
"#,
        );
    }
}
