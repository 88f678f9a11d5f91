//! Pounds and ounces, which have no value, and what they are in kg.

use gutta_quantity::Exact;

use super::Reader;
use crate::{Edit, MarkKind, Written, WrittenUnit};

impl Reader<'_> {
    /// Pounds and ounces have no value; what they are in kg is exact.
    pub(super) fn pounds(&mut self, written: &mut Written, unit: &str) {
        self.whole = false;
        let fix = written
            .value
            .take()
            .and_then(|value| decimal(&(value * kilograms(unit)?)))
            .map(|value| Edit {
                span: written.span,
                text: format!("{value} kg"),
            });
        written.unit = WrittenUnit::Unknown;
        self.mark(MarkKind::Pounds, written.span, fix.into_iter().collect());
    }
}

/// A number as plain decimal digits; `None` where they do not end, or are
/// more than a number may have.
pub(super) fn decimal(value: &Exact) -> Option<String> {
    let decimals = value.decimals()?;
    let scaled = (value * &Exact::ten_to(i32::try_from(decimals).ok()?)).to_i64()?;
    let digits = scaled.to_string();
    let decimals = usize::try_from(decimals).ok()?;
    if digits.len().max(decimals + 1) > 12 || scaled < 0 {
        return None;
    }
    let padded = format!("{digits:0>width$}", width = decimals + 1);
    let (whole, fraction) = padded.split_at(padded.len() - decimals);
    Some(if fraction.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{fraction}")
    })
}

/// What one of the unit is in kilograms: the international pound is exactly
/// 0.45359237 kg, the ounce a sixteenth of it (agreement of 1959, from
/// memory).
pub(super) fn kilograms(unit: &str) -> Option<Exact> {
    if unit.contains('/') {
        return None;
    }
    let pound = Exact::ratio(45_359_237, 100_000_000)?;
    if unit.to_ascii_lowercase().starts_with('o') {
        Some(pound * Exact::ratio(1, 16)?)
    } else {
        Some(pound)
    }
}
