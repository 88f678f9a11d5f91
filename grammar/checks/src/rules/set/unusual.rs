#![doc = include_str!("unusual.md")]

use super::substance::beyond;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.unusual",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("unusual.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    beyond(context, &RULE, true, findings);
}
