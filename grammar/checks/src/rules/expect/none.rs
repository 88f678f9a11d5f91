#![doc = include_str!("none.md")]

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "expect.none",
    severity: Severity::Information,
    locked: false,
    page: include_str!("none.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    if order.high_alert
        && !order.specimen
        && order.expects.is_empty()
        && context.analysis.values.is_ok()
    {
        findings.push(
            context
                .finding(
                    &RULE,
                    order.header,
                    "This order of a high-alert drug has no worked example (`expect`).",
                )
                .note("Calculate one by hand, from the source and not from `gutta derive`, and write it as `expect MEASURE QUANTITY [at WEIGHT]`."),
        );
    }
}
