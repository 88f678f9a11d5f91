#![doc = include_str!("thousands.md")]

use gutta_notation::DigitGroups;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.thousands",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("thousands.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let number = context.marked();
    let (form, example) = match context.workspace.house.style.digit_groups {
        DigitGroups::Comma => ("a comma", "25,000"),
        DigitGroups::Space => ("a space", "25 000"),
    };
    Some(
        context
            .report_spelling(
                &RULE,
                format!("The thousands of `{number}` are not grouped as this house groups them."),
            )
            .note(format!(
                "Zeros in a row are miscounted, and one too many is ten times the dose. Part the thousands with {form}: `{example}`."
            )),
    )
}
