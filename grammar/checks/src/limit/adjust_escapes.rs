#![doc = include_str!("adjust_escapes.md")]

use gutta_protocol::derive::At;

use super::breach::{finding, worst};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.adjust-escapes",
    severity: Severity::Error,
    locked: true,
    page: include_str!("adjust_escapes.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for breach in worst(context, |breach| {
        !breach.bound.usual && breach.reading.at != At::Start
    }) {
        findings.push(
            finding(
                context,
                &RULE,
                breach,
                values,
                "the limit that the range must not leave",
            )
            .note("Narrow the range."),
        );
    }
}
