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
            "A point is written before decimals; a comma only before groups of exactly three digits. Check in the source which number is meant, and write that."
        }
        DigitGroups::Space => {
            "A point is written before decimals; this hospital separates thousands with a space. Check in the source which number is meant, and write that."
        }
    };
    Some(
        context
            .report(
                &RULE,
                format!("The comma in `{number}` does not separate thousands, so no value was read."),
            )
            .note("In other countries the comma is the decimal sign: a guess could be wrong by a factor of a thousand.")
            .note(advice),
    )
}
