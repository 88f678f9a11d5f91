#![doc = include_str!("coarse.md")]

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Exact, Quantity, Rounding};

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
            let decimals = u32::from(expectation.decimals);
            let told = |value: Exact, more| {
                let value = Quantity::new(value, expectation.value.unit);
                let style = context.style();
                style.quantity_fixed(&value, decimals + more, Rounding::HalfUp)
            };
            let message = format!(
                "`{written}` would be right for anything from {} to just below {}.",
                told(value - &half, 1).number,
                told(value + &half, 1)
            );
            let finer = told(value.clone(), 2);
            findings.push(
                context
                    .finding(&RULE, expectation.value_span, message)
                    .note(format!(
                        "Write more digits (`{finer}`, if that is meant). In an `expect`, and only there, a zero at the end is right."
                    )),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    #[test]
    fn what_it_would_hold_for() {
        for (flow, message, finer) in [
            (
                "4 mL/h",
                "`4 mL/h` would be right for anything from 3.5 to just below 4.5 mL/h.",
                "`4.00 mL/h`",
            ),
            (
                "0.4 mL/h",
                "`0.4 mL/h` would be right for anything from 0.35 to just below 0.45 mL/h.",
                "`0.400 mL/h`",
            ),
        ] {
            let text = format!(
                "use \"tarnwick.gtt\"\n\norder a \"A\"\n  route peripheral vein\n  hang 50 mL of saline\n  run all at {flow}\n  then stop\n  expect flow {flow}\n"
            );
            let found = findings(&text)
                .into_iter()
                .find(|finding| finding.rule.name == "expect.coarse")
                .unwrap();
            assert_eq!(found.message, message);
            assert!(found.notes[0].contains(finer), "{:?}", found.notes);
        }
    }
}
