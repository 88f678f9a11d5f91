#![doc = include_str!("unusual.md")]

use gutta_protocol::derive::At;

use super::breach::{finding, worst};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.unusual",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("unusual.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for breach in worst(context, |breach| breach.bound.usual) {
        let mut found = finding(context, &RULE, breach, values, "what is usual");
        match breach.reading.at {
            At::Start => {}
            At::High => found = found.note("This is at the highest step that `adjust` allows."),
            At::Low => found = found.note("This is at the lowest step that `adjust` allows."),
        }
        findings.push(found.note(
            "If it is meant, say so: `waive limit.unusual of MEASURE up to QUANTITY because \"…\"` in this order.",
        ));
    }
}
