#![doc = include_str!("overdue.md")]

use gutta_notation::Fact;

use crate::words::kind;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "review.overdue",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("overdue.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(today) = context.options.today else {
        return;
    };
    let stanza = context.stanza();
    for line in &stanza.lines {
        if let Fact::ReviewBy(date) = &line.fact
            && let Some(date) = date.value
            && date < today
        {
            findings.push(
                context
                    .finding(
                        &RULE,
                        line.span,
                        format!("This {} was due for review by {date}.", kind(stanza.kind)),
                    )
                    .note("Guidance and products change. Review it, and then set the next date."),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn past_its_date_and_on_it() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2026-11-25

order saline-large "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2026-11-24
  ^^^^^^^^^^^^^^^^^^^^^ review.overdue: by 2026-11-24
"#,
        );
    }
}
