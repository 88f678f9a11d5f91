//! Curves by hand, and against their own definition at single numbers.

mod by_hand;
mod corners;
mod expression;
mod laws;
mod numbers;
mod search;
mod strokes;

use gutta_quantity::Exact;

use super::Interval;

/// A number as people write it: `0.9`, `-3`, `320/3`.
fn n(text: &str) -> Exact {
    let (sign, rest) = match text.strip_prefix('-') {
        Some(rest) => (Exact::int(-1), rest),
        None => (Exact::ONE, text),
    };
    let (num, den) = rest.split_once('/').unwrap_or((rest, "1"));
    let part = |text| Exact::parse_decimal(text).expect("a number in a test");
    let value = part(num).checked_div(&part(den)).expect("not over zero");
    &value * &sign
}

fn span(lo: &str, hi: &str) -> Interval {
    Interval::new(n(lo), n(hi)).expect("an interval in a test")
}
