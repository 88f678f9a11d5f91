//! The precision of everyday.

use super::Digits;
use crate::{Atom, Dimension, Exact, Quantity, Rounding, Unit, units};

/// A flow as a volume per time, the patient not in it.
const FLOW: Dimension = Dimension::VOLUME.minus(Dimension::TIME);

impl Digits {
    /// The number alone at everyday precision, halves up: flows in mL per
    /// time to 0.1, below 1 to 0.01, below 0.1 to 0.001; drips to the whole
    /// drop; everything else to three significant figures, no digit before
    /// the point dropped. What would become 0 that way is printed to one
    /// significant figure.
    #[must_use]
    pub fn shown(self, value: &Exact, unit: Unit) -> String {
        let dimension = unit.dimension();
        let decimals = if dimension == FLOW && unit.top == Some(Atom::ML) {
            let size = value.abs();
            if size >= Exact::ONE {
                1
            } else if size >= Exact::ten_to(-1) {
                2
            } else {
                3
            }
        } else if dimension.is_drip() {
            0
        } else {
            return self.decimal_at_least(value, 3, Rounding::HalfUp);
        };
        let step = Exact::ten_to(-decimals);
        if !value.is_zero() && value.round_to(&step, Rounding::HalfUp).is_zero() {
            return self.decimal_significant(value, 1, Rounding::HalfUp);
        }
        self.decimal(value, decimals.unsigned_abs(), Rounding::HalfUp)
    }

    /// The quantity at everyday precision, with its unit: `3.2 mL/h`,
    /// `1 unit/h`; a time in the units of the clock as [`Self::duration`].
    #[must_use]
    pub fn quantity_shown(self, quantity: &Quantity) -> String {
        match quantity.unit.top {
            Some(Atom::S | Atom::Min | Atom::H | Atom::Days)
                if quantity.dimension() == Dimension::TIME =>
            {
                self.duration(&quantity.base(), Rounding::HalfUp)
            }
            _ => with_unit(self.shown(&quantity.value, quantity.unit), quantity.unit),
        }
    }

    /// The quantity as faithfully as fits: exact where its decimal form ends
    /// within four decimals, else to four significant figures, halves up, no
    /// digit before the point dropped.
    #[must_use]
    pub fn quantity(self, quantity: &Quantity) -> String {
        let number = match quantity.value.decimals() {
            Some(decimals @ 0..=4) => self.decimal(&quantity.value, decimals, Rounding::HalfUp),
            _ => self.decimal_at_least(&quantity.value, 4, Rounding::HalfUp),
        };
        with_unit(number, quantity.unit)
    }

    /// The quantity to its last digit, where its decimal form ends within
    /// twelve decimals; else as [`Self::quantity`]. What is keyed in is told
    /// so.
    #[must_use]
    pub fn quantity_exact(self, quantity: &Quantity) -> String {
        match self.decimal_exact(&quantity.value) {
            Some(number) => with_unit(number, quantity.unit),
            None => self.quantity(quantity),
        }
    }

    /// The number and unit at which something turns, rounded to the side that
    /// `rounding` says is safe: to four significant figures, no digit before
    /// the point dropped. In `kg` alone (a patient's weight) to 0.1 kg from
    /// 10 kg up, to 0.01 kg from 1 kg up, and below that to the gram, as `g`.
    #[must_use]
    pub fn threshold(self, value: &Exact, unit: Unit, rounding: Rounding) -> String {
        if unit != units::KG {
            return with_unit(self.decimal_at_least(value, 4, rounding), unit);
        }
        let size = value.abs();
        let decimals = if size >= Exact::int(10) {
            1
        } else if size >= Exact::ONE {
            2
        } else {
            3
        };
        let rounded = value.round_to(&Exact::ten_to(-decimals), rounding);
        if rounded.abs() < Exact::ONE {
            let grams = &rounded * &Exact::int(1_000);
            with_unit(self.decimal(&grams, 0, rounding), units::G)
        } else {
            with_unit(
                self.decimal(&rounded, decimals.unsigned_abs(), rounding),
                unit,
            )
        }
    }
}

/// The unit after its number: in the singular after a printed 1.
fn with_unit(number: String, unit: Unit) -> String {
    let value = if number == "1" {
        Exact::ONE
    } else {
        Exact::ZERO
    };
    let mut text = number;
    if unit != Unit::NONE {
        text.push(' ');
        text.push_str(&unit.after(&value));
    }
    text
}
