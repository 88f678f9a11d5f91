#![doc = include_str!("bare.md")]

use gutta_notation::Line;

use super::removal;
use crate::outcome::{Lack, Silenced};
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "waive.bare",
    severity: Severity::Error,
    locked: false,
    page: include_str!("bare.md"),
    check: Check::Last,
};

pub(crate) fn report(context: &StanzaContext<'_>, line: &Line, lack: Lack) -> Finding {
    let (message, advice) = match lack {
        Lack::Reason => (
            "This waiver gives no reason, so it has no effect.",
            "Anyone who reads it next year must be able to see whether the reason still applies. Write `because` and the reason in quotes.".to_owned(),
        ),
        Lack::Bound(silenced) => {
            let bound = silenced.map_or_else(
                || "of MEASURE up to QUANTITY".to_owned(),
                Silenced::phrase,
            );
            (
                "This waiver sets no limit, so it has no effect.",
                format!(
                    "Without a limit, it would also cover every greater breach. Write the measure and how far: `{bound}`, no further than this order needs."
                ),
            )
        }
    };
    context
        .finding(&RULE, line.span, message)
        .note(advice)
        .fix(removal(context, line))
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    /// The note for an order with a waiver without a bound, run so.
    fn advice(run: &str) -> String {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
  usual dose 2 to 5 mg/h
  usual time up to 6 h

order a "A"
  drug       limitamine
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        {run}
  then       stop
  waive limit.unusual because "a trial"
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "waive.bare");
        found.unwrap().notes.remove(0)
    }

    #[test]
    fn the_measure_is_that_of_what_it_would_silence() {
        for (run, bound) in [
            ("all at 8 mg/h", "`of dose up to QUANTITY`"),
            ("4 mg at 1 mg/h", "`of dose down to QUANTITY`"),
            ("20 mg at 2.5 mg/h", "`of time up to QUANTITY`"),
            ("all at 1 mg/h", "`of MEASURE up to QUANTITY`"),
            ("10 mg at 2.5 mg/h", "`of MEASURE up to QUANTITY`"),
        ] {
            let advice = advice(run);
            assert!(advice.contains(bound), "{run}: {advice}");
        }
    }

    #[test]
    fn a_reason_is_asked_for() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-small "Saline"
  route      peripheral vein
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
