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
    let form = match context.workspace.house.style.digit_groups {
        DigitGroups::Comma => "a comma",
        DigitGroups::Space => "a space",
    };
    // Where the unit follows at once, the fix parts it too.
    let written = context.mark.fixes.first();
    let written = written.map_or("", |fix| fix.text.trim_end());
    Some(
        context
            .report_spelling(
                &RULE,
                format!("The digits of `{number}` are not grouped as this hospital writes them."),
            )
            .note(format!(
                "Zeros in a row are easily miscounted, and one too many is ten times the dose. Separate the thousands with {form}: `{written}`."
            )),
    )
}
