#![doc = include_str!("decimal_comma.md")]

use gutta_notation::DigitGroups;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.decimal-comma",
    severity: Severity::Error,
    locked: true,
    page: include_str!("decimal_comma.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let number = context.marked();
    let advice = match context.workspace.house.style.digit_groups {
        DigitGroups::Comma => {
            "A point stands before decimals; a comma only before groups of exactly three digits. Look in the source which number is meant, and write that."
        }
        DigitGroups::Space => {
            "A point stands before decimals; this house parts thousands with a space. Look in the source which number is meant, and write that."
        }
    };
    Some(
        context
            .report(
                &RULE,
                format!("The comma in `{number}` does not part thousands, so no value was read."),
            )
            .note("Elsewhere a comma stands for the decimal point: to guess could be wrong a thousandfold.")
            .note(advice),
    )
}
