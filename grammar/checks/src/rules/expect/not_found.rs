#![doc = include_str!("not_found.md")]

use gutta_notation::ast::Name;

use crate::words::{all_of, quoted};
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "expect.not-found",
    severity: Severity::Error,
    locked: false,
    page: include_str!("not_found.md"),
    check: Check::Last,
};

/// `found`: what checking the specimen brought instead.
pub(crate) fn report(
    context: &StanzaContext<'_>,
    name: &Name,
    rule: &Rule,
    found: &[Finding],
) -> Finding {
    let mut others: Vec<_> = found.iter().map(|finding| finding.rule.name).collect();
    others.sort_unstable();
    others.dedup();
    let instead = if others.is_empty() {
        "nothing was found".to_owned()
    } else {
        format!("what was found is {}", all_of(&quoted(&others)))
    };
    context
        .finding(
            &RULE,
            name.span,
            format!("`{}` did not find anything here: {instead}.", rule.name),
        )
        .note("A specimen shows that a mistake is caught. If this one is no longer caught, no order like it is: find out which limit or rule was loosened.")
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn what_is_expected_is_consumed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

specimen saline-late "Not reviewed"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2025-01-01
  expect finding review.overdue

specimen saline-early "Reviewed"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2027-01-01
  expect finding review.overdue
                 ^^^^^^^^^^^^^^ expect.not-found: nothing was found
"#,
        );
    }

    #[test]
    fn what_is_not_expected_stays() {
        assert_findings(
            r#"
use "tarnwick.gtt"

specimen saline-late "Not reviewed"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2025-01-01
  ^^^^^^^^^^^^^^^^^^^^^ review.overdue
"#,
        );
    }
}
