#![doc = include_str!("pounds.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.pounds",
    severity: Severity::Error,
    locked: false,
    page: include_str!("pounds.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let weight = context.marked();
    Some(
        context
            .report(
                &RULE,
                format!("`{weight}` is in pounds or ounces; it was read exactly, 1 lb as 0.45359237 kg."),
            )
            .note("A weight in pounds that is taken for kilograms more than doubles every dose per kg. Write it in kg."),
    )
}
