#![doc = include_str!("needs_strength.md")]

use gutta_notation::read_quantity;
use gutta_protocol::model::problem::ProblemKind;
use gutta_quantity::Unit;

use crate::{Check, Finding, OrderContext, Rule, Severity, problems};

pub(crate) static RULE: Rule = Rule {
    name: "unit.needs-strength",
    severity: Severity::Error,
    locked: false,
    page: include_str!("needs_strength.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    for problem in problems::of_kind(context, |kind| *kind == ProblemKind::NeedsStrength) {
        let written = context.text(problem.span);
        let unit = read_quantity(written, context.style());
        let unit = unit.and_then(|quantity| quantity.unit.known());
        let what = match unit.map(Unit::dimension) {
            Some(dimension) if dimension.is_dose() => "a dose",
            Some(dimension) if dimension.is_amount() => "an amount of drug",
            _ => "drug",
        };
        let message = format!(
            "`{written}` is {what}, but the order does not state how much drug is in the bag: volume and flow cannot be calculated."
        );
        findings.push(
            context
                .finding(&RULE, problem.span, message)
                .note("State the mixture: `mix`, `premixed` or `undiluted`."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_plain_fluid_and_no_bag_at_all() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order pantoprazole-hung "Pantoprazole"
  drug       pantoprazole
  route      central vein
  pump       syringe
  hang       100 mL of saline
  bolus      80 mg over 5 min
             ^^^^^ unit.needs-strength: `80 mg` is an amount of drug, but the order does not state how much drug is in the bag: volume and flow cannot be calculated.
  run        all at 8 mL/h
  then       stop

order pantoprazole-bare "Pantoprazole"
  drug       pantoprazole
  route      central vein
  pump       syringe
  run        40 mg at 8 mg/h
             ^^^^^ unit.needs-strength
  then       stop
"#,
        );
    }
}
