//! Pounds and ounces, which are read, and what they are in kg.

use gutta_quantity::{Exact, Quantity, Unit};

use super::Reader;
use crate::{Edit, MarkKind, Written, WrittenUnit};

impl Reader<'_> {
    /// A quantity in pounds or ounces, or by them, is read as it stands. Of a
    /// weight the fix says the same in kg, exactly; what is for each pound has
    /// no decimal number for each kg.
    pub(super) fn pounds(&mut self, written: &mut Written, unit: Option<Unit>) {
        written.unit = unit.map_or(WrittenUnit::Unknown, WrittenUnit::Known);
        let fix = written
            .quantity()
            .and_then(|quantity| in_kilograms(&quantity))
            .map(|kilograms| Edit {
                span: written.span,
                text: format!("{kilograms} kg"),
            });
        self.mark(MarkKind::Pounds, written.span, fix.into_iter().collect());
    }
}

/// A body weight as the number of its kilograms.
pub(super) fn in_kilograms(weight: &Quantity) -> Option<String> {
    decimal(&weight.as_weight()?)
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
