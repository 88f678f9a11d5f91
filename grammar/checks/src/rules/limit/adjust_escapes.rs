#![doc = include_str!("adjust_escapes.md")]

use gutta_protocol::derive::At;

use super::breach::{finding, worst};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.adjust-escapes",
    severity: Severity::Error,
    locked: true,
    page: include_str!("adjust_escapes.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for breach in worst(context, |breach| {
        !breach.bound.usual && breach.reading.at != At::Start
    }) {
        findings.push(
            finding(
                context,
                &RULE,
                breach,
                values,
                "the absolute limit (`never`)",
            )
            .note("Narrow the range of `adjust`."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    /// A start stated by a time can be adjusted as one stated by the dose.
    #[test]
    fn however_the_start_is_stated() {
        for run in ["all over 24 h", "all at 10 mg/h"] {
            for (never, adjust, told) in [
                (
                    "total above 400 mg per day",
                    "4 to 20 mg/h by 2 mg/h",
                    "At the highest step of `adjust` all solvane given in 24 h is 480 mg; never above 400 mg.",
                ),
                (
                    "dose above 15 mg/h",
                    "4 to 20 mg/h by 2 mg/h",
                    "At the highest step of `adjust` the dose of solvane is 20 mg/h; never above 15 mg/h.",
                ),
            ] {
                let line = format!("  adjust     {adjust} every 6 h");
                let marks = "^".repeat(line.len() - 2);
                assert_findings(&format!(
                    r#"
use "tarnwick.gtt"

drug solvane "Solvane, invented"
  dosed in   mg/h
  supplied   200 mg in 20 mL
  with       saline
  never {never}

order solvane-steady "Solvane"
  drug       solvane
  route      central vein
  pump       syringe
  mix        240 mg made up to 48 mL with saline
  run        {run}
{line}
  {marks} limit.adjust-escapes: {told}
  then       renew
"#
                ));
            }
        }
    }
}
