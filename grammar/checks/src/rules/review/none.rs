#![doc = include_str!("none.md")]

use gutta_notation::{Fact, StanzaKind};

use crate::words::kind;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "review.none",
    severity: Severity::Hint,
    locked: false,
    page: include_str!("none.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let stanza = context.stanza();
    if !matches!(stanza.kind, StanzaKind::Order | StanzaKind::Set) {
        return;
    }
    // A line that cannot be read may be the one; it has its own finding.
    let answered = stanza
        .lines
        .iter()
        .any(|line| matches!(line.fact, Fact::ReviewBy(_) | Fact::Unreadable));
    if !answered {
        findings.push(
            context
                .finding(
                    &RULE,
                    stanza.header,
                    format!("This {} has no review date.", kind(stanza.kind)),
                )
                .note("Without one it is reviewed only after something has gone wrong. Write `review by` and a date."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn an_order_without_a_date() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^^ review.none: This order has no review date.
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "nothing else"
"#,
        );
    }
}
