#![doc = include_str!("bare.md")]

use gutta_notation::Line;

use super::removal;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "waive.bare",
    severity: Severity::Error,
    locked: false,
    page: include_str!("bare.md"),
    check: Check::Last,
};

/// What a waiver lacks to be one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lack {
    /// `because`, or words after it.
    Reason,
    /// The measure and its bound.
    Bound,
}

pub(crate) fn report(context: &StanzaContext<'_>, line: &Line, lack: Lack) -> Finding {
    let (message, advice) = match lack {
        Lack::Reason => (
            "This waiver gives no reason, so it silences nothing.",
            "Whoever reads it next year must be able to tell whether the reason still holds. Write `because` and the reason in quotes.",
        ),
        Lack::Bound => (
            "This waiver sets no bound, so it silences nothing.",
            "Without one, a waiver for 24 mg/h would pass 240. Write the measure and how far: `of dose up to 24 mg/h`.",
        ),
    };
    context
        .finding(&RULE, line.span, message)
        .note(advice)
        .fix(removal(context, line))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_reason_is_asked_for() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "nothing else"
  waive review.overdue
  ^^^^^^^^^^^^^^^^^^^^ waive.bare: no reason
  waive review.overdue because "  "
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.bare: no reason
"#,
        );
    }
}
