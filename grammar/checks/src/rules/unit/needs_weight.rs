#![doc = include_str!("needs_weight.md")]

use gutta_protocol::model::problem::ProblemKind;

use crate::lines::insert_below;
use crate::{Check, Finding, OrderContext, Rule, Severity, problems};

pub(crate) static RULE: Rule = Rule {
    name: "unit.needs-weight",
    severity: Severity::Error,
    locked: false,
    page: include_str!("needs_weight.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    for (kind, of, per, line) in [
        (
            ProblemKind::NeedsWeight,
            "weight",
            "kg",
            "patient    weight ? to ? kg",
        ),
        (
            ProblemKind::NeedsSurface,
            "body surface area",
            "m2",
            "patient    surface ? to ? m2",
        ),
    ] {
        // One line is missing: one finding, whatever number of lines ask.
        let problems = problems::of_kind(context, |found| *found == kind);
        let Some((first, others)) = problems.split_first() else {
            continue;
        };
        let written = context.text(first.span);
        let message =
            format!("`{written}` is per {per}, and the order does not state the patient's {of}.");
        let mut finding = context
            .finding(&RULE, first.span, message)
            .note(format!(
                "Add the `{}` line, here or in the area.",
                line.split(" ?").next().unwrap_or(line).replace("    ", " ")
            ))
            .fix(insert_below(context, context.analysis.order.header, line));
        for other in others {
            finding = finding.related(context.place(other.span), "this needs it too");
        }
        findings.push(finding);
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn per_kg_and_per_m2() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order dobutamine-steady "Dobutamine"
  drug       dobutamine
  route      central vein
  pump       syringe
  mix        250 mg made up to 50 mL with glucose-5
  run        all at 5 mcg/kg/min
                    ^^^^^^^^^^^^ unit.needs-weight: `5 mcg/kg/min` is per kg, and the order does not state the patient's weight.
  then       renew

order pantoprazole-surface "Pantoprazole"
  drug       pantoprazole
  patient    weight 40 to 80 kg
  route      central vein
  pump       syringe
  mix        20 mg/m2 made up to 50 mL with saline
             ^^^^^^^^ unit.needs-weight: Add the `patient surface` line
  run        all over 1 h
  then       stop
"#,
        );
    }

    #[test]
    fn the_areas_weights_are_enough() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order dobutamine-steady "Dobutamine"
  drug       dobutamine
  area       adult-icu
  route      central vein
  pump       syringe
  mix        250 mg made up to 50 mL with glucose-5
  run        all at 5 mcg/kg/min
  then       renew
"#,
        );
    }
}
