#![doc = include_str!("trailing_zero.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.trailing-zero",
    severity: Severity::Error,
    locked: false,
    page: include_str!("trailing_zero.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let number = context.marked();
    Some(
        context
            .report_spelling(&RULE, format!("`{number}` has an unnecessary zero at the end."))
            .note(format!(
                "If the point is missed it is read as `{}`, ten times as much or more. Remove the zero.",
                number.replacen('.', "", 1)
            )),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_zero_too_many() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order midazolam-sedation "Midazolam"
  drug       midazolam
  route      central vein
  mix        50.0 mg made up to 50 mL with saline
             ^^^^ text.trailing-zero: `50.0` has an unnecessary zero at the end.
  run        all at 2.5 mg/h
  then       renew
"#,
        );
    }

    #[test]
    fn in_an_expect_zeros_say_how_exactly() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order midazolam-sedation "Midazolam"
  drug       midazolam
  route      central vein
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mg/h
  then       renew
  expect     flow 2.00 mL/h
"#,
        );
    }
}
