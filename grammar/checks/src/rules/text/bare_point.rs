#![doc = include_str!("bare_point.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.bare-point",
    severity: Severity::Error,
    locked: false,
    page: include_str!("bare_point.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let number = context.marked();
    Some(
        context
            .report_spelling(&RULE, format!("`{number}` has no zero before its point."))
            .note(format!(
                "If the point is missed it is read as `{}`, ten times as much or more. Write a zero before the point.",
                number.replacen('.', "", 1)
            )),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_number_without_its_zero() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order midazolam-sedation "Midazolam"
  drug       midazolam
  route      central vein
  mix        50 mg made up to 50 mL with saline
  run        all at .5 mg/h
                    ^^ text.bare-point: `.5` has no zero before its point.
  then       renew
"#,
        );
    }
}
