#![doc = include_str!("not_of_substance.md")]

use gutta_protocol::model::problem::ProblemKind;

use crate::{Check, Finding, Rule, Severity, StanzaContext, problems};

pub(crate) static RULE: Rule = Rule {
    name: "limit.not-of-substance",
    severity: Severity::Error,
    locked: true,
    page: include_str!("not_of_substance.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let mut told = None;
    for problem in problems::of_reference(context) {
        let ProblemKind::NotOfSubstance { what } = &problem.kind else {
            continue;
        };
        // A `usual` with a wrong measure is so at both ends.
        if told == Some(problem.span) {
            continue;
        }
        told = Some(problem.span);
        let message = format!("A limit of this kind ({what}) cannot be checked for a substance.");
        findings.push(context.finding(&RULE, problem.span, message).note(
            "An ingredient limits how much of a substance is given in all, with maximums only: `dose`, `total … per day` or `in any TIME`, `strength`. State anything else in the drug's stanza or in the order.",
        ));
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn what_is_of_one_drug_alone() {
        assert_findings(
            r#"
use "tarnwick.gtt"

ingredient sodium "Sodium"
  usual dose       up to 10 mmol/h
  usual dose       2 to 10 mmol/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-of-substance: A limit of this kind (a minimum) cannot be checked for a substance.
  usual flow       2 to 10 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-of-substance: A limit of this kind (a flow) cannot be checked for a substance.
  never interval   below 4 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-of-substance: an interval
  never by         epidural
  ^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-of-substance: a ban
  never total      above 3 mmol/kg per day
  never strength   above 160 mmol/L by peripheral vein
"#,
        );
    }
}
