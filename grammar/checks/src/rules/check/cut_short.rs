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

const DIVIDE: &str = "That nothing was found there says nothing. Divide it, or write fewer phases, runs or repeats in it: then all of it is looked at.";

/// Nothing was derived at all.
pub(crate) fn nothing_derived(context: &StanzaContext<'_>) -> Finding {
    let message = "This order would take too long to check: nothing was derived from it, and no limit of it was checked.";
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
        "Which slip may stand behind what is out of bounds was not looked for to the end (`{}`): it would take too long.",
        rule.name
    );
    context
        .finding(&RULE, context.stanza().header, message)
        .severity(Severity::Warning)
        .note("What is out of bounds is told all the same: look at each of its numbers in the source.")
}
