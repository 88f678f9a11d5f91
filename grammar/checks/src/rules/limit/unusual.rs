#![doc = include_str!("unusual.md")]

use super::breach::{finding, worst};
use super::substance;
use crate::outcome::Silenced;
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
        findings.push(advised(found, never));
    }
    for found in substance::beyond(context, &RULE, true) {
        findings.push(advised(found, false));
    }
}

/// With what to do; how to waive it, where no `never` is passed beside it.
fn advised(found: Finding, never: bool) -> Finding {
    let waiver = Silenced::by(&found).filter(|_| !never).map(|silenced| {
        format!(
            " Only if it is meant: `waive limit.unusual {} because \"…\"`.",
            silenced.phrase()
        )
    });
    found.note(format!(
        "Check the number, the unit and the source.{}",
        waiver.unwrap_or_default()
    ))
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
                "The dose of limitamine is 8 mg/h, more than the usual maximum of 5 mg/h.",
                "of dose up to QUANTITY",
            ),
            (
                "1 mg/h",
                "The dose of limitamine is 1 mg/h, below the usual minimum of 2 mg/h.",
                "of dose down to QUANTITY",
            ),
            (
                "4 mg/h\n  adjust 4 to 8 mg/h by 2 mg/h every 1 h",
                "At the highest step of `adjust` the dose of limitamine is 8 mg/h, more than the usual maximum of 5 mg/h.",
                "of dose up to QUANTITY",
            ),
            (
                "0.1 mg/kg/h",
                "Above 50 kg the dose of limitamine is more than the usual maximum of 5 mg/h: 15 mg/h at 150 kg.",
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

    #[test]
    fn what_a_never_forbids_is_not_asked_for() {
        let text = |cap: &str, never: &str| {
            format!(
                r#"
use "tarnwick.gtt"

drug diltiazem "Diltiazem"
  supplied   25 mg in 5 mL
  with       saline
  usual dose 5 to 15 mg/h
  usual bolus 0.2 to 0.35 mg/kg
  never bolus above {never}

order a "A"
  drug       diltiazem
  patient    weight 40 to 150 kg
  route      central vein
  mix        125 mg made up to 125 mL with saline
  bolus      0.25 mg/kg over 5 min, at most {cap}
  run        all at 5 mg/h
  then       stop
"#
            )
        };
        let found = |cap, never| -> Vec<_> {
            let found = findings(&text(cap, never)).into_iter();
            let found = found.filter(|finding| finding.rule.name == "limit.unusual");
            found.map(|finding| finding.message).collect()
        };
        assert_eq!(found("25 mg", "25 mg"), [""; 0]);
        // A cap of one's own is told, from where it begins to matter.
        assert_eq!(
            found("20 mg", "25 mg"),
            [
                "Above 100 kg the bolus of diltiazem is below the usual minimum of 0.2 mg/kg: 0.16 mg/kg at 125 kg."
            ]
        );
        assert_eq!(found("25 mg", "25 mg by peripheral vein").len(), 1);
    }

    #[test]
    fn a_usual_goes_by_the_counted_volume() {
        let text = |run: &str| {
            format!(
                r#"
use "tarnwick.gtt"

drug oxytocin "Oxytocin"
  supplied   10 units in 1 mL
  with       saline
  usual dose 0.5 to 20 milliunits/min
  never dose above 32 milliunits/min

order a "A"
  drug       oxytocin
  route      central vein
  mix        10 units added to 500 mL of saline, counted as 500 mL
  run        all at {run}
  change bag every 24 h
  then       renew
"#
            )
        };
        let found = |run| -> Vec<_> {
            let found = findings(&text(run)).into_iter();
            let found = found.filter(|finding| finding.severity >= crate::Severity::Warning);
            found.map(|finding| finding.rule.name).collect()
        };
        assert_eq!(found("0.5 milliunits/min"), [""; 0]);
        assert_eq!(found("20 milliunits/min"), [""; 0]);
        assert!(found("0.49 milliunits/min").contains(&"limit.unusual"));
    }
}
