//! Numbers, times and quantities as a person reads them.
//!
//! Every function here has the house's usual form of thousands, the comma;
//! the methods of [`Digits`] have any. None prints a trailing zero unless it
//! says so, none a bare point, and none prints a value that is not zero as 0,
//! unless its decimals were asked for.

mod digits;
mod everyday;
mod time;

#[cfg(test)]
mod tests;

use std::fmt;

pub use digits::{Digits, MOST_DECIMALS, significant};

use crate::{Exact, Quantity, Rounding, Unit};

/// [`Digits::decimal`] with commas.
#[must_use]
pub fn decimal(value: &Exact, decimals: u32, rounding: Rounding) -> String {
    Digits::Comma.decimal(value, decimals, rounding)
}

/// [`Digits::decimal_fixed`] with commas.
#[must_use]
pub fn decimal_fixed(value: &Exact, decimals: u32, rounding: Rounding) -> String {
    Digits::Comma.decimal_fixed(value, decimals, rounding)
}

/// [`Digits::decimal_exact`] with commas.
#[must_use]
pub fn decimal_exact(value: &Exact) -> Option<String> {
    Digits::Comma.decimal_exact(value)
}

/// [`Digits::decimal_significant`] with commas.
#[must_use]
pub fn decimal_significant(value: &Exact, figures: u32, rounding: Rounding) -> String {
    Digits::Comma.decimal_significant(value, figures, rounding)
}

/// [`Digits::shown`] with commas: the number alone, at everyday precision.
#[must_use]
pub fn shown(value: &Exact, unit: Unit) -> String {
    Digits::Comma.shown(value, unit)
}

/// [`Digits::threshold`] with commas: the number and its unit.
#[must_use]
pub fn threshold(value: &Exact, unit: Unit, rounding: Rounding) -> String {
    Digits::Comma.threshold(value, unit, rounding)
}

/// [`Digits::duration`] with commas, halves up.
#[must_use]
pub fn duration(minutes: &Exact) -> String {
    Digits::Comma.duration(minutes, Rounding::HalfUp)
}

impl Quantity {
    /// At everyday precision, with its unit: `3.2 mL/h`, `5 h 57 min`; see
    /// [`Digits::quantity_shown`].
    #[must_use]
    pub fn shown(&self) -> String {
        Digits::Comma.quantity_shown(self)
    }
}

/// [`Digits::quantity`] with commas: exact within four decimals, else to four
/// significant figures.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&Digits::Comma.quantity(self))
    }
}
