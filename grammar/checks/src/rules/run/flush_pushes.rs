#![doc = include_str!("flush_pushes.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::{Values, View};
use gutta_protocol::measures::amount_unit;
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::Side;
use gutta_protocol::model::order::Phase;
use gutta_protocol::model::size::DrugKind;
use gutta_quantity::{Exact, Printed, Style};

use crate::telling::told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.flush-pushes",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("flush_pushes.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let (Some(drug), Ok(values)) = (&order.drug, &context.analysis.values) else {
        return;
    };
    if !is_limited_by_rate_alone(&drug.value) {
        return;
    }
    for (index, phase) in order.phases.iter().enumerate() {
        let holds_drug = |view: &View| {
            let derived = view.phases.get(index);
            derived.is_some_and(|of| of.bag.drug.is_some() && !of.runs.is_empty())
        };
        if !values.views.iter().any(holds_drug) {
            continue;
        }
        for (place, (size, _)) in phase.flushes.iter().enumerate() {
            let name = &drug.value.name;
            let how_much = most(values, phase, (index, place), context.style()).map_or_else(
                || "an unstated amount".to_owned(),
                |most| format!("up to {most}"),
            );
            let message = format!(
                "The flush pushes {how_much} of {name} into the patient, at a speed that the order does not state; {name} has limits for a dose per time only."
            );
            findings.push(context.finding(&RULE, size.span, message).note(
                "Remove the flush and say what is to be done with the line; or let a fluid follow at the last flow of the drug.",
            ));
        }
    }
}

/// Whether a drug's limits say how much of it may go in per time, and nothing
/// of how much at once.
fn is_limited_by_rate_alone(drug: &Drug) -> bool {
    let states = |measures: &[LimitMeasure]| {
        let mut limits = drug.limits.iter();
        limits.any(|bound| bound.side == Side::High && measures.contains(&bound.measure))
    };
    // A flush is judged as a bolus; how fast it goes in, nobody knows.
    states(&[LimitMeasure::Dose]) && !states(&[LimitMeasure::SingleDose, LimitMeasure::Bolus])
}

/// The most drug that a flush pushes out of the line, where it is stated how
/// much that holds.
fn most(
    values: &Values,
    phase: &Phase,
    (index, place): (usize, usize),
    style: Style,
) -> Option<Printed> {
    let set = phase.giving_set.as_ref();
    let priming = set.and_then(|set| set.value.priming.as_ref());
    let mut most: Option<(Exact, DrugKind)> = None;
    for view in &values.views {
        let derived = view.phases.get(index)?;
        let drug = derived.bag.drug.as_ref()?;
        let line = match (&derived.prime, priming) {
            (Some(prime), _) => prime.clone(),
            (None, Some((priming, _))) => view.patients.constant(priming.clone()),
            (None, None) => return None,
        };
        let pushed = line.min(derived.flushes.get(place)?)?;
        let amount = pushed.mul(&drug.true_strength)?.max_value()?.value;
        most = Some(match most {
            Some((known, kind)) => (amount.max(known), kind),
            None => (amount, drug.kind),
        });
    }
    most.map(|(amount, kind)| told(&amount, amount_unit(kind), style))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    fn assert_flushed(limits: &str, lines: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

giving-set line-20 "A line of 20 mL"
  drops      20 per mL
  priming    20 mL

drug pressorine "Pressorine, invented"
  dosed in   mcg/kg/min
  supplied   10 mg in 10 mL
  with       saline
{limits}
order pressorine-steady "Pressorine"
  drug       pressorine
  patient    weight 40 to 100 kg
  route      central vein
  pump       syringe
  giving-set line-20
  mix        10 mg made up to 50 mL with saline
  run        all at 0.2 mcg/kg/min
{lines}  then       stop
"#
        ));
    }

    /// 20 mL of 200 mcg/mL, by hand.
    #[test]
    fn what_the_line_holds_of_a_drug_limited_by_its_rate() {
        assert_flushed(
            "  usual dose 0.05 to 1 mcg/kg/min\n",
            "  flush      25 mL with saline
             ^^^^^ run.flush-pushes: The flush pushes up to 4 mg of pressorine into the patient
",
        );
    }

    #[test]
    fn a_drug_that_is_given_in_doses_is_flushed_in() {
        assert_flushed(
            "  usual dose 0.05 to 1 mcg/kg/min\n  usual single dose 1 to 20 mg\n",
            "  flush      25 mL with saline\n",
        );
    }
}
