#![doc = include_str!("expired.md")]

use gutta_notation::Line;
use gutta_notation::ast::Date;

use super::removal;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "waive.expired",
    severity: Severity::Error,
    locked: false,
    page: include_str!("expired.md"),
    check: Check::Last,
};

pub(crate) fn report(context: &StanzaContext<'_>, line: &Line, until: Date) -> Finding {
    context
        .finding(
            &RULE,
            line.span,
            format!("This waiver applied until {until}, and no longer has any effect."),
        )
        .note("The date was set so that somebody would review it. Remove the waiver, or set a new date if the reason still applies.")
        .fix(removal(context, line))
}

#[cfg(test)]
mod tests {
    use crate::harness::{TODAY, assert_findings};

    #[test]
    fn on_its_last_day_it_still_holds() {
        let day = TODAY.day;
        let before = day - 1;
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2025-01-01
  waive review.overdue because "after the move" until 2026-11-{day}

order saline-large "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2025-01-01
  ^^^^^^^^^^^^^^^^^^^^^ review.overdue
  waive review.overdue because "after the move" until 2026-11-{before}
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.expired: until 2026-11-24
"#
        ));
    }
}
