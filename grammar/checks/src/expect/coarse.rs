#![doc = include_str!("coarse.md")]

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::Exact;

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "expect.coarse",
    severity: Severity::Information,
    locked: false,
    page: include_str!("coarse.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    if context.analysis.values.is_err() {
        return;
    }
    let order = &context.analysis.order;
    for expectation in &order.expects {
        let value = &expectation.value.value;
        let half = &Exact::ten_to(-i32::from(expectation.decimals))
            * &Exact::ratio(1, 2).unwrap_or_default();
        let Some(share) = half.checked_div(value) else {
            continue;
        };
        let coarse = share >= Exact::ratio(1, 50).unwrap_or_default();
        // Drops are whole, and a pump's flow is written as it can be set: no
        // further digit could be written.
        let whole = matches!(
            expectation.measure.value,
            ExpectMeasure::Drops | ExpectMeasure::PumpFlow
        );
        if coarse && !whole {
            let written = context.text(expectation.value_span);
            findings.push(
                context
                    .finding(
                        &RULE,
                        expectation.value_span,
                        format!("`{written}` pins the value to no better than 2 %."),
                    )
                    .note("Write more digits; a trailing zero is right here."),
            );
        }
    }
}
