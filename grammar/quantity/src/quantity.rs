//! A value in a unit.

use std::cmp::Ordering;
use std::fmt;

use crate::{Atom, Dimension, Exact, Unit};

/// A value in a unit.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Quantity {
    /// The value, counted in `unit`.
    pub value: Exact,
    /// The unit.
    pub unit: Unit,
}

impl Quantity {
    /// `value` of `unit`.
    #[must_use]
    pub const fn new(value: Exact, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// What it is a quantity of.
    #[must_use]
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// The value in base units; see [`Atom::factor`].
    #[must_use]
    pub fn base(&self) -> Exact {
        &self.value * &self.unit.factor()
    }

    /// A value in base units, counted in `unit`.
    #[must_use]
    pub fn from_base(base: Exact, unit: Unit) -> Self {
        // No unit's factor is zero.
        let value = base.checked_div(&unit.factor()).unwrap_or(base);
        Self { value, unit }
    }

    /// The value counted in another unit of the same kind.
    #[must_use]
    pub fn to(&self, unit: Unit) -> Option<Exact> {
        if self.unit == unit {
            return Some(self.value.clone());
        }
        (self.unit.commensurable(unit)).then(|| Self::from_base(self.base(), unit).value)
    }

    /// The same quantity in another unit of the same kind.
    #[must_use]
    pub fn convert(&self, unit: Unit) -> Option<Self> {
        Some(Self {
            value: self.to(unit)?,
            unit,
        })
    }

    /// Which is more; `None` where they are of different kinds.
    #[must_use]
    pub fn compare(&self, other: &Self) -> Option<Ordering> {
        self.unit
            .commensurable(other.unit)
            .then(|| self.base().cmp(&other.base()))
    }

    /// A mass in kg or g (or lb or oz) above the line, as the patient's weight
    /// in kg.
    #[must_use]
    pub fn as_weight(&self) -> Option<Exact> {
        match self.unit {
            Unit {
                top: Some(atom @ (Atom::Kg | Atom::G | Atom::Lb | Atom::Oz)),
                per: [None, None],
            } => Some(&self.value * &atom.factor_below()),
            _ => None,
        }
    }
}

impl fmt::Debug for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} {}", self.value, self.unit.symbol())
    }
}
