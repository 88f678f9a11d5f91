#![doc = include_str!("unused.md")]

use gutta_notation::Line;

use super::removal;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "waive.unused",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("unused.md"),
    check: Check::Last,
};

/// `left`: the findings of the rule that the waiver leaves standing, which are
/// beyond its bound or of another measure.
pub(crate) fn report(
    context: &StanzaContext<'_>,
    line: &Line,
    rule: &Rule,
    left: &[&Finding],
) -> Finding {
    let Some(beyond) = left.first() else {
        return context
            .finding(
                &RULE,
                line.span,
                format!("This waiver has no effect: `{}` finds nothing here.", rule.name),
            )
            .note("If the rule finds something again, for another reason, nobody would see it. Remove the waiver.")
            .fix(removal(context, line));
    };
    context
        .finding(
            &RULE,
            line.span,
            format!("This waiver has no effect: what `{}` finds is beyond its limit.", rule.name),
        )
        .related(beyond.place, beyond.message.clone())
        .note("Its measure, its direction (`up to` or `down to`) and its kind of unit must be those of the finding, and its limit must cover it.")
        .fix(removal(context, line))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn nothing_to_silence() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2027-01-01
  waive review.overdue because "after the move"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.unused: finds nothing here
"#,
        );
    }

    #[test]
    fn a_stanza_that_is_not_whole_is_not_judged() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  revew by   2025-01-01
  ^^^^^ text.unreadable
  waive review.overdue because "after the move"
"#,
        );
    }
}
