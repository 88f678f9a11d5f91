#![doc = include_str!("cut_short.md")]

use crate::words::kind;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "check.cut-short",
    severity: Severity::Error,
    locked: true,
    page: include_str!("cut_short.md"),
    check: Check::Last,
};

const DIVIDE: &str = "No finding there does not mean that it is right. Divide it, or write fewer phases, runs or repeats: then all of it is checked.";

/// Nothing was derived at all.
pub(crate) fn nothing_derived(context: &StanzaContext<'_>) -> Finding {
    let message = "This order would take too long to check: nothing was calculated from it, and none of its limits was checked.";
    context
        .finding(&RULE, context.stanza().header, message)
        .note(DIVIDE)
}

/// These rules were not applied, or not to the end.
pub(crate) fn rules_left(context: &StanzaContext<'_>, left: &[&str]) -> Finding {
    let stanza = context.stanza();
    let rules = match left {
        [only] => format!("the rule `{only}` was not applied to the end"),
        _ => format!("{} rules were not applied to the end", left.len()),
    };
    let message = format!(
        "This {} would take too long to check: {rules}.",
        kind(stanza.kind)
    );
    let names: Vec<_> = left.iter().map(|name| format!("`{name}`")).collect();
    context
        .finding(&RULE, stanza.header, message)
        .note(format!("Not applied: {}.", names.join(", ")))
        .note(DIVIDE)
}

/// What only explains other findings was not looked for to the end.
pub(crate) fn search_left(context: &StanzaContext<'_>, rule: &Rule) -> Finding {
    let message = format!(
        "The search for the slip behind a breach of limits was cut short (`{}`): it would take too long.",
        rule.name
    );
    context
        .finding(&RULE, context.stanza().header, message)
        .severity(Severity::Warning)
        .note("The breach itself is reported: check each of its numbers against the source.")
}
