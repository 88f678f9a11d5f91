#![doc = include_str!("ratio_strength.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.ratio-strength",
    severity: Severity::Error,
    locked: false,
    page: include_str!("ratio_strength.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let ratio = context.marked();
    Some(
        context
            .report(
                &RULE,
                format!("`{ratio}` is a strength written as a ratio."),
            )
            .note("One zero more or less is a tenfold dose, and the larger number is the weaker solution. Write the strength in mg/mL."),
    )
}
