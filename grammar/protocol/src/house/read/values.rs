//! Values of `gutta.toml`, read from their words.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Unit};

/// `10 %` or `0.1`, above zero and not above the whole.
pub(super) fn share(words: &str) -> Option<Exact> {
    let number = match words.trim().strip_suffix('%') {
        Some(percent) => &decimal(percent)? * &Exact::ten_to(-2),
        None => decimal(words)?,
    };
    (number.is_positive() && number <= Exact::ONE).then_some(number)
}

pub(super) fn minutes(words: &str) -> Option<Exact> {
    quantity(words, Unit::new(Atom::Min))
}

/// `5 to 150 drops/min`.
pub(super) fn drops(words: &str) -> Option<(Exact, Exact)> {
    let (low, high) = words.split_once(" to ")?;
    let per_minute = Unit::over(Atom::Drops, Atom::Min);
    let high = quantity(high, per_minute)?;
    let low = match decimal(low) {
        Some(low) => low,
        None => quantity(low, per_minute)?,
    };
    (low.is_positive() && low < high).then_some((low, high))
}

/// A number above zero, a space and a unit, counted in `unit`.
pub(super) fn quantity(words: &str, unit: Unit) -> Option<Exact> {
    let (number, written) = words.trim().split_once(' ')?;
    let written = Unit::parse(written.trim_start())?;
    let age = |atom: Atom| matches!(atom, Atom::Weeks | Atom::Months | Atom::Years);
    if written.dimension() == Dimension::TIME && written.top.is_some_and(age) {
        return None;
    }
    Quantity::new(decimal(number)?, written)
        .to(unit)
        .filter(Exact::is_positive)
}

/// Plain digits with an optional point; thousands are not grouped here.
pub(super) fn decimal(words: &str) -> Option<Exact> {
    const MOST: usize = 13;
    let words = words.trim();
    (words.len() <= MOST).then(|| Exact::parse_decimal(words))?
}
