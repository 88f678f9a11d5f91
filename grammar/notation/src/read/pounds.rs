//! Pounds and ounces, which are read, and what they are in kg.

use gutta_quantity::{Exact, Quantity, Unit};

use super::Reader;
use super::number::MOST_DIGITS;
use crate::{Edit, MarkKind, Style, Written, WrittenUnit};

impl Reader<'_> {
    /// A quantity in pounds or ounces, or by them, is read as it stands. Of a
    /// weight the fix says the same in kg, exactly; what is for each pound has
    /// no decimal number for each kg.
    pub(super) fn pounds(&mut self, written: &mut Written, unit: Option<Unit>) {
        written.unit = unit.map_or(WrittenUnit::Unknown, WrittenUnit::Known);
        let fix = written
            .quantity()
            .and_then(|quantity| in_kilograms(&quantity, self.style))
            .map(|kilograms| Edit {
                span: written.span,
                text: format!("{kilograms} kg"),
            });
        self.mark(MarkKind::Pounds, written.span, fix.into_iter().collect());
    }
}

/// A body weight as the number of its kilograms.
pub(super) fn in_kilograms(weight: &Quantity, style: Style) -> Option<String> {
    decimal(&weight.as_weight()?, style)
}

/// A number to its last digit, as the house writes it; `None` where the digits
/// do not end, or are more than a number may have.
pub(super) fn decimal(value: &Exact, style: Style) -> Option<String> {
    let text = style
        .decimal_exact(value)
        .filter(|_| !value.is_negative())?;
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    (digits <= MOST_DIGITS).then_some(text)
}
