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
    Some(
        context
            .report_spelling(
                &RULE,
                format!("`{quantity}` has no space between number and unit."),
            )
            .note("The m of `mg` and `mL` has been read as one more zero, or two. Put a space in between."),
    )
}
