//! A value in writing.

use std::fmt;

use super::Style;
use crate::Unit;

/// A value in writing, in parts, so that nobody has to read it back: as a
/// whole `2.6 mL/h`, by the clock `5 h 57 min`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// `2.6`; a time by the clock with its units: `5 h 57 min`.
    pub number: String,
    /// `mL/h`; empty for a plain number, and by the clock.
    pub unit: String,
    /// Whether the number is not exactly the value.
    pub rounded: bool,
}

impl Printed {
    /// Whether both read the same.
    #[must_use]
    pub fn reads_as(&self, other: &Self) -> bool {
        (&self.number, &self.unit) == (&other.number, &other.unit)
    }
}

impl fmt::Display for Printed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.number)?;
        if !self.unit.is_empty() {
            write!(f, " {}", self.unit)?;
        }
        Ok(())
    }
}

/// From one end to the other, the unit once where both have it: `1.8 to
/// 6.75 mL/h`. Ends that read the same are one.
#[must_use]
pub fn between(from: &Printed, to: &Printed) -> Printed {
    if from.reads_as(to) {
        return Printed {
            rounded: from.rounded || to.rounded,
            ..from.clone()
        };
    }
    let number = if from.unit == to.unit {
        format!("{} to {}", from.number, to.number)
    } else {
        format!("{from} to {}", to.number)
    };
    Printed {
        number,
        unit: to.unit.clone(),
        rounded: from.rounded || to.rounded,
    }
}

/// Digits, and whether they are not exactly the value.
pub(super) struct Number {
    pub(super) text: String,
    pub(super) rounded: bool,
}

impl Number {
    /// With its unit: in the singular after a printed 1.
    pub(super) fn of(self, unit: Unit, style: Style) -> Printed {
        Printed {
            unit: style.spelt(unit, self.text == "1"),
            number: self.text,
            rounded: self.rounded,
        }
    }
}
