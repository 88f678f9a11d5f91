#![doc = include_str!("risky_unit.md")]

use gutta_notation::MarkKind;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.risky-unit",
    severity: Severity::Error,
    locked: false,
    page: include_str!("risky_unit.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::RiskyUnit { safe } = &context.mark.kind else {
        return None;
    };
    let unit = context.marked();
    let mut finding = context.report_spelling(
        &RULE,
        format!("`{unit}` is read as `{safe}`, but has been misread at the bedside."),
    );
    if let Some(misread) = misreading(unit) {
        finding = finding.note(misread);
    }
    Some(finding.note(format!("Write `{safe}`.")))
}

/// How the unit has been misread, where a published list says so: ISMP, List
/// of Error-Prone Abbreviations, Symbols, and Dose Designations (2021).
fn misreading(unit: &str) -> Option<&'static str> {
    let first = unit.split('/').next().unwrap_or(unit);
    match first {
        "U" | "u" => Some("It has been read as a 0 or a 4: `10U` as 100."),
        "IU" => Some("It has been read as IV, or as 10."),
        "µg" | "μg" => Some("It has been read as mg, a thousand times as much."),
        "cc" => Some("It has been read as a u, for units."),
        "l" | "ml" => Some("A small l has been read as a 1."),
        _ => None,
    }
}
