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
            "`{}` cannot be waived here: the limit is not this stanza's own.",
            rule.name
        )
    };
    let note = match rule.name {
        "limit.never" | "limit.route" | "limit.adjust-escapes" => {
            "A reason in the order does not make this safe. If the limit is wrong, correct it where it is stated, or state an `except` there."
        }
        // An area's bounds: a reference knows no `except` for them.
        "flow.above-ceiling" | "limit.patient" => {
            "A reason in the order does not make this safe. If the limit is wrong, correct it where it is stated."
        }
        _ => {
            "A reason in the order does not make safe what could not be read, answered or checked. Correct the line."
        }
    };
    context
        .finding(&RULE, line.span, message)
        .note(note)
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
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "nothing else"
  waive text.unreadable because "we know"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: A reason in the order does not make safe what could not be read, answered or checked. Correct the line.
"#,
        );
    }

    #[test]
    fn the_note_is_by_what_is_waived() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
  never dose above 5 mg/h

area day-ward "Day ward"
  ceiling    8 mL/h

order a "A"
  drug       limitamine
  area       day-ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 9 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never
  ^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling
  then       renew
  waive limit.never because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: A reason in the order does not make this safe. If the limit is wrong, correct it where it is stated, or state an `except` there.
  waive flow.above-ceiling because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: correct it where it is stated.
  waive limit.patient because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: correct it where it is stated.
  waive limit.unanswered because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: `limit.unanswered` cannot be waived.
"#,
        );
    }
}
