#![doc = include_str!("risky_name.md")]

use gutta_notation::MarkKind;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.risky-name",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("risky_name.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::RiskyName { full } = context.mark.kind else {
        return None;
    };
    let short = context.marked();
    Some(
        context
            .report(
                &RULE,
                format!("`{short}` is read as `{full}`; this short form has been mistaken for another drug."),
            )
            .note(format!("Write `{full}`.")),
    )
}
