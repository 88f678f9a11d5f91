#![doc = include_str!("locked.md")]

use gutta_notation::Line;

use super::removal;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "waive.locked",
    severity: Severity::Error,
    locked: false,
    page: include_str!("locked.md"),
    check: Check::Last,
};

pub(crate) fn report(context: &StanzaContext<'_>, line: &Line, rule: &Rule) -> Finding {
    let message = if rule.locked {
        format!("`{}` cannot be waived.", rule.name)
    } else {
        format!(
            "`{}` cannot be waived here: the bound is not this stanza's own.",
            rule.name
        )
    };
    context
        .finding(&RULE, line.span, message)
        .note("What is never to be done is not made right by a sentence in the order. If the bound is wrong, change it where it stands, by an `except`.")
        .fix(removal(context, line))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_never_is_not_waived() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "nothing else"
  waive text.unreadable because "we know"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: `text.unreadable` cannot be waived
"#,
        );
    }
}
