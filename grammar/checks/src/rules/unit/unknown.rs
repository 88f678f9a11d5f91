#![doc = include_str!("unknown.md")]

use gutta_quantity::units;

use crate::words::any_of;
use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "unit.unknown",
    severity: Severity::Error,
    locked: false,
    page: include_str!("unknown.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let unit = context.marked();
    let mut finding = context.report(&RULE, format!("`{unit}` is no unit of the notation."));
    if finding.fixes.is_empty() {
        let [mg, mcg, ml, flow] = [units::MG, units::MCG, units::ML, units::ML_PER_H]
            .map(|unit| context.style().unit(unit));
        finding = finding.note(format!(
            "The size of a unit is a thousandfold matter and is not guessed. Write it as the notation does: `{mg}`, `{mcg}`, `{ml}`, `{flow}`.",
        ));
    } else {
        let near: Vec<_> = context
            .mark
            .fixes
            .iter()
            .map(|edit| format!("`{}`", edit.text.trim()))
            .collect();
        finding = finding.note(format!(
            "The size of a unit is a thousandfold matter and is not guessed. Was {} meant?",
            any_of(&near)
        ));
    }
    Some(finding)
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn case_counts() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-dose "Cefuroxime"
  drug       cefuroxime
  route      central vein
  mix        1500 MG made up to 50 mL with saline
                  ^^ unit.unknown: Was `mg` meant?
  run        all over 30 min
  then       stop
"#,
        );
    }
}
