//! Decimal digits.

use super::Style;
use super::printed::Number;
use crate::{Exact, Rounding};

/// The most decimals that are printed of a number whose decimal form does not
/// end before.
pub const MOST_DECIMALS: u32 = 1_000;

/// The most decimals of an exact decimal form.
const EXACT_DECIMALS: u32 = 12;

impl Style {
    /// The value rounded to so many decimals (at most [`MOST_DECIMALS`]
    /// unless its form ends), without trailing zeros: `2.5`, `12`, `25,000`.
    #[must_use]
    pub fn decimal(self, value: &Exact, decimals: u32, rounding: Rounding) -> String {
        self.number(value, decimals, rounding).text
    }

    /// The value rounded to so many decimals (at most [`MOST_DECIMALS`]), all
    /// of them written: `3.0`.
    #[must_use]
    pub fn decimal_fixed(self, value: &Exact, decimals: u32, rounding: Rounding) -> String {
        let decimals = decimals.min(MOST_DECIMALS);
        write(value, decimals, rounding, true, self.separator())
    }

    /// The fraction, where it is not whole: `25,000/3`.
    #[must_use]
    pub fn fraction(self, value: &Exact) -> String {
        let whole = |part: &Exact| self.decimal(part, 0, Rounding::HalfUp);
        let (num, den) = (value.numerator(), value.denominator());
        if den == Exact::ONE {
            return whole(&num);
        }
        format!("{}/{}", whole(&num), whole(&den))
    }

    /// All decimals, where there are at most twelve; else `None`.
    #[must_use]
    pub fn decimal_exact(self, value: &Exact) -> Option<String> {
        let decimals = value.decimals().filter(|ends| *ends <= EXACT_DECIMALS)?;
        Some(self.decimal(value, decimals, Rounding::HalfUp))
    }

    /// The value rounded to so many significant figures (at least one, and
    /// at most [`MOST_DECIMALS`]), before the point too: 1,234 to three is
    /// `1230`.
    #[must_use]
    pub fn decimal_significant(self, value: &Exact, figures: u32, rounding: Rounding) -> String {
        self.to_figures(value, figures, rounding).text
    }

    pub(super) fn to_figures(self, value: &Exact, figures: u32, rounding: Rounding) -> Number {
        let figured = significant(value, figures, rounding);
        Number {
            rounded: figured != *value,
            ..self.number(&figured, u32::MAX, rounding)
        }
    }

    /// As [`Self::decimal_significant`], but no digit before the point is
    /// dropped: 1,234.5 to three is `1,235`.
    pub(super) fn at_least(self, value: &Exact, figures: u32, rounding: Rounding) -> Number {
        let decimals = places(value, figures).unwrap_or(0);
        // Below zero are places before the point.
        let decimals = u32::try_from(decimals).unwrap_or(0);
        self.number(value, decimals, rounding)
    }

    pub(super) fn number(self, value: &Exact, decimals: u32, rounding: Rounding) -> Number {
        let ends = value.decimals();
        let most = ends.unwrap_or(MOST_DECIMALS);
        Number {
            text: write(value, decimals.min(most), rounding, false, self.separator()),
            rounded: ends.is_none_or(|ends| ends > decimals),
        }
    }

    const fn separator(self) -> Option<char> {
        Some(self.digit_groups.separator())
    }
}

/// The one writer of digits. `zeros`: whether trailing zeros stand.
pub(crate) fn write(
    value: &Exact,
    decimals: u32,
    rounding: Rounding,
    zeros: bool,
    separator: Option<char>,
) -> String {
    let power = Exact::ten_to(i32::try_from(decimals).unwrap_or(i32::MAX));
    let scaled = rounding.apply(&(value * &power));
    let (scaled, _) = scaled.to_parts();
    let (sign, digits) = match scaled.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", scaled.as_str()),
    };
    let decimals = usize::try_from(decimals).unwrap_or(usize::MAX);
    // At least one digit before the point; a format width would end at
    // 65,535.
    let missing = (decimals + 1).saturating_sub(digits.len());
    let padded = "0".repeat(missing) + digits;
    let (whole, fraction) = padded.split_at(padded.len() - decimals);
    let fraction = if zeros {
        fraction
    } else {
        fraction.trim_end_matches('0')
    };
    let mut text = String::with_capacity(sign.len() + padded.len() + padded.len() / 3 + 1);
    text.push_str(sign);
    group(whole, separator, &mut text);
    if !fraction.is_empty() {
        text.push('.');
        text.push_str(fraction);
    }
    text
}

/// The digits before the point, in groups of three from five digits up.
fn group(whole: &str, separator: Option<char>, text: &mut String) {
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && whole.len() >= 5 && (whole.len() - index).is_multiple_of(3) {
            text.extend(separator);
        }
        text.push(digit);
    }
}

/// A value rounded to so many significant figures (at least one, and at most
/// [`MOST_DECIMALS`]), before the point too.
#[must_use]
pub fn significant(value: &Exact, figures: u32, rounding: Rounding) -> Exact {
    match places(value, figures) {
        Some(places) => value.round_to(&Exact::ten_to(-places), rounding),
        None => Exact::ZERO,
    }
}

/// How many decimals so many significant figures are, below zero where the
/// last figure stands before the point; `None` for zero.
fn places(value: &Exact, figures: u32) -> Option<i32> {
    let figures = i32::try_from(figures.clamp(1, MOST_DECIMALS)).ok()?;
    Some((figures - 1).saturating_sub(value.magnitude()?))
}
