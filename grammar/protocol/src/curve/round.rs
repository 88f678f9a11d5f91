//! Round numbers between two others.

use gutta_quantity::Exact;

/// The most round numbers along an axis, its ends not counted.
const MOST_ROUND: usize = 5;

/// A few round numbers strictly between two: multiples of 1, 2 or 5 times a
/// power of ten.
#[must_use]
pub(crate) fn round_between(low: &Exact, high: &Exact) -> Vec<Exact> {
    let Some(step) = round_step(&(high - low)) else {
        return Vec::new();
    };
    let Some(first) = low.checked_div(&step) else {
        return Vec::new();
    };
    let mut at = &(&first.floor() + &Exact::ONE) * &step;
    let mut round = Vec::new();
    while at < *high && round.len() < MOST_ROUND {
        round.push(at.clone());
        at = &at + &step;
    }
    round
}

/// The least of 1, 2 or 5 times a power of ten that goes into a width only so
/// often.
pub(crate) fn round_step(width: &Exact) -> Option<Exact> {
    if !width.is_positive() {
        return None;
    }
    let most = Exact::int(1 + MOST_ROUND as i64);
    let steps = (-6..=6)
        .flat_map(|power| [1, 2, 5].map(|digit| &Exact::int(digit) * &Exact::ten_to(power)));
    steps
        .into_iter()
        .find(|step| width.checked_div(step).is_some_and(|count| count <= most))
}
