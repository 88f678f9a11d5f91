#![doc = include_str!("unusual.md")]

use super::breach::{finding, worst};
use crate::waive::bare::Silenced;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.unusual",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("unusual.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for breach in worst(context, |breach| breach.bound.usual) {
        let found = finding(context, &RULE, breach, values, "what is usual");
        // What is never to be done is not made right by a waiver beside it.
        let never = context
            .analysis
            .judgement()
            .breaches
            .iter()
            .any(|other| !other.bound.usual && other.reading.span == breach.reading.span);
        let waiver = Silenced::by(&found).filter(|_| !never).map(|silenced| {
            format!(
                " Only if it is meant: `waive limit.unusual {} because \"…\"`.",
                silenced.phrase()
            )
        });
        findings.push(found.note(format!(
            "Check the number, the unit and the source.{}",
            waiver.unwrap_or_default()
        )));
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// The messages and notes on an order of a drug, run so.
    fn said(run: &str) -> Vec<(String, String)> {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
  usual dose 2 to 5 mg/h
  never dose above 20 mg/h

order a "A"
  drug       limitamine
  patient    weight 40 to 150 kg
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at {run}
  then       renew
"#
        );
        findings(&text)
            .into_iter()
            .filter(|finding| finding.rule.name == "limit.unusual")
            .map(|finding| (finding.message, finding.notes.join(" ")))
            .collect()
    }

    #[test]
    fn a_waiver_is_named_with_its_measure_and_side() {
        for (run, message, bound) in [
            (
                "8 mg/h",
                "The dose of limitamine is 8 mg/h, more than the usual 5 mg/h.",
                "of dose up to QUANTITY",
            ),
            (
                "1 mg/h",
                "The dose of limitamine is 1 mg/h, less than the usual 2 mg/h.",
                "of dose down to QUANTITY",
            ),
            (
                "4 mg/h\n  adjust 4 to 8 mg/h by 2 mg/h every 1 h",
                "At the highest step of `adjust` the dose of limitamine is 8 mg/h, more than the usual 5 mg/h.",
                "of dose up to QUANTITY",
            ),
            (
                "0.1 mg/kg/h",
                "Above 50 kg the dose of limitamine is more than the usual 5 mg/h: 15 mg/h at 150 kg.",
                "of dose up to QUANTITY",
            ),
        ] {
            let note = format!(
                "Check the number, the unit and the source. Only if it is meant: `waive limit.unusual {bound} because \"…\"`."
            );
            assert_eq!(said(run), [(message.to_owned(), note)]);
        }
    }

    #[test]
    fn no_waiver_is_named_where_a_never_is_broken() {
        for run in [
            "24 mg/h",
            "4 mg/h\n  adjust 4 to 24 mg/h by 2 mg/h every 1 h",
        ] {
            let said = said(run);
            assert_eq!(said[0].1, "Check the number, the unit and the source.");
        }
    }
}
