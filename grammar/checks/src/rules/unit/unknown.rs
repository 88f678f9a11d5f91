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
    let mut finding = context.report(&RULE, format!("`{unit}` is not a unit that is known here."));
    if finding.fixes.is_empty() {
        let [mg, mcg, ml, flow] = [units::MG, units::MCG, units::ML, units::ML_PER_H]
            .map(|unit| context.style().unit(unit));
        finding = finding.note(format!(
            "A wrong guess could be out by a factor of a thousand. Write the unit in its standard form: `{mg}`, `{mcg}`, `{ml}`, `{flow}`.",
        ));
    } else {
        let near: Vec<_> = context
            .mark
            .fixes
            .iter()
            .map(|edit| format!("`{}`", edit.text.trim()))
            .collect();
        finding = finding.note(format!(
            "A wrong guess could be out by a factor of a thousand. Was {} meant?",
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
