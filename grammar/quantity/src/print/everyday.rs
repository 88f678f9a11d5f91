//! The precision of everyday.

use super::Style;
use super::printed::{Number, Printed};
use crate::{Atom, Dimension, Exact, Quantity, Rounding, Unit, units};

/// A flow as a volume per time, the patient not in it.
const FLOW: Dimension = Dimension::VOLUME.minus(Dimension::TIME);

impl Style {
    /// The number alone at everyday precision, halves up: flows in mL per
    /// time to 0.1, below 1 to 0.01, below 0.1 to 0.001; drips to the whole
    /// drop; everything else to three significant figures, no digit before
    /// the point dropped. What would become 0 that way is printed to one
    /// significant figure.
    #[must_use]
    pub fn shown(self, value: &Exact, unit: Unit) -> String {
        self.everyday(value, unit).text
    }

    fn everyday(self, value: &Exact, unit: Unit) -> Number {
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
            return self.at_least(value, 3, Rounding::HalfUp);
        };
        let number = self.number(value, decimals, Rounding::HalfUp);
        if number.text == "0" {
            return self.to_figures(value, 1, Rounding::HalfUp);
        }
        number
    }

    /// The quantity at everyday precision: `3.2 mL/h`, `1 unit/h`; a time in
    /// the units of the clock as [`Self::duration`].
    #[must_use]
    pub fn quantity_shown(self, quantity: &Quantity) -> Printed {
        match quantity.unit.top {
            Some(Atom::S | Atom::Min | Atom::H | Atom::Days)
                if quantity.dimension() == Dimension::TIME =>
            {
                self.duration(&quantity.base(), Rounding::HalfUp)
            }
            _ => self
                .everyday(&quantity.value, quantity.unit)
                .of(quantity.unit, self),
        }
    }

    /// The quantity as faithfully as fits: exact where its decimal form ends
    /// within four decimals, else to four significant figures, halves up, no
    /// digit before the point dropped.
    #[must_use]
    pub fn quantity(self, quantity: &Quantity) -> Printed {
        let number = match quantity.value.decimals() {
            Some(decimals @ 0..=4) => self.number(&quantity.value, decimals, Rounding::HalfUp),
            _ => self.at_least(&quantity.value, 4, Rounding::HalfUp),
        };
        number.of(quantity.unit, self)
    }

    /// The quantity to its last digit, where its decimal form ends within
    /// twelve decimals: what is keyed in or written into a file.
    #[must_use]
    pub fn quantity_exact(self, quantity: &Quantity) -> Option<Printed> {
        let text = self.decimal_exact(&quantity.value)?;
        let number = Number {
            text,
            rounded: false,
        };
        Some(number.of(quantity.unit, self))
    }

    /// The quantity rounded to so many significant figures, as
    /// [`Self::decimal_significant`].
    #[must_use]
    pub fn quantity_significant(
        self,
        quantity: &Quantity,
        figures: u32,
        rounding: Rounding,
    ) -> Printed {
        let number = self.to_figures(&quantity.value, figures, rounding);
        number.of(quantity.unit, self)
    }

    /// The quantity rounded to so many decimals, all of them written: `3.0
    /// mL/h`.
    #[must_use]
    pub fn quantity_fixed(self, quantity: &Quantity, decimals: u32, rounding: Rounding) -> Printed {
        let plain = self.number(&quantity.value, decimals, rounding);
        let number = Number {
            text: self.decimal_fixed(&quantity.value, decimals, rounding),
            rounded: plain.rounded,
        };
        number.of(quantity.unit, self)
    }

    /// The number and unit at which something turns, rounded to the side that
    /// `rounding` says is safe: to four significant figures, no digit before
    /// the point dropped. In `kg` alone (a patient's weight) to 0.1 kg from
    /// 10 kg up, to 0.01 kg from 1 kg up, and below that to the gram, as `g`.
    #[must_use]
    pub fn threshold(self, value: &Exact, unit: Unit, rounding: Rounding) -> Printed {
        if unit != units::KG {
            return self.at_least(value, 4, rounding).of(unit, self);
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
        let told = if rounded.abs() < Exact::ONE {
            let grams = &rounded * &Exact::int(1_000);
            self.number(&grams, 0, rounding).of(units::G, self)
        } else {
            let decimals = decimals.unsigned_abs();
            self.number(&rounded, decimals, rounding).of(unit, self)
        };
        Printed {
            rounded: rounded != *value,
            ..told
        }
    }
}
