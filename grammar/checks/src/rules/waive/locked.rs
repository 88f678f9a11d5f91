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
    let note = match rule.name {
        "limit.never" | "limit.route" | "limit.adjust-escapes" => {
            "What is never to be done is not made right by a sentence in the order. If the bound is wrong, change it where it stands, by an `except`."
        }
        // An area's bounds: a reference knows no `except` for them.
        "flow.above-ceiling" | "limit.patient" => {
            "What is never to be done is not made right by a sentence in the order. If the bound is wrong, change it where it stands."
        }
        _ => {
            "What could not be read, answered or checked is not made safe by a sentence in the order. Put the line right."
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
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: What could not be read, answered or checked is not made safe
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
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: change it where it stands, by an `except`.
  waive flow.above-ceiling because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: change it where it stands.
  waive limit.patient because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: change it where it stands.
  waive limit.unanswered because "a trial"
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ waive.locked: Put the line right.
"#,
        );
    }
}
