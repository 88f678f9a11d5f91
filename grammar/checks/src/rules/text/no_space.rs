#![doc = include_str!("no_space.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.no-space",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("no_space.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let quantity = context.marked();
    let unit = quantity.chars().find(|c| c.is_alphabetic());
    Some(
        context
            .report_spelling(
                &RULE,
                format!("`{quantity}` has no space between number and unit."),
            )
            .note(if unit.is_some_and(|first| first == 'm') {
                "An m at the start of a unit has been read as one or two more zeros. Put a space in between."
            } else {
                "The first letter of a unit can be read as a digit. Put a space in between."
            }),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn an_m_and_any_other_letter() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-bag "Saline"
  route      peripheral vein
  hang       1L of saline
             ^^ text.no-space: The first letter of a unit can be read as a digit. Put a space in between.
  run        500mL over 8 h
             ^^^^^ text.no-space: An m at the start of a unit has been read as one or two more zeros. Put a space in between.
  then       renew
"#,
        );
    }
}
