//! Rounding.

use num_integer::Integer;

use super::{Exact, Repr};

/// Which way a number is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rounding {
    /// To the nearest, halves up.
    HalfUp,
    /// Towards the smaller number.
    Down,
    /// Towards the larger number.
    Up,
}

impl Rounding {
    /// The whole number that the value is rounded to.
    #[must_use]
    pub fn apply(self, value: &Exact) -> Exact {
        match self {
            Self::HalfUp => value.round_half_up(),
            Self::Down => value.floor(),
            Self::Up => value.ceil(),
        }
    }
}

impl Exact {
    /// The greatest whole number not above this one.
    #[must_use]
    pub fn floor(&self) -> Self {
        match &self.0 {
            Repr::Small { num, den } => Self::int(Integer::div_floor(num, &den.get())),
            Repr::Big(value) => Self::from_big(value.floor()),
        }
    }

    /// The least whole number not below this one.
    #[must_use]
    pub fn ceil(&self) -> Self {
        match &self.0 {
            Repr::Small { num, den } => Self::int(Integer::div_ceil(num, &den.get())),
            Repr::Big(value) => Self::from_big(value.ceil()),
        }
    }

    /// The nearest whole number, halves up: 5 for 4.5, -4 for -4.5.
    #[must_use]
    pub fn round_half_up(&self) -> Self {
        (self + &Self::small(1, 2)).floor()
    }

    /// This number rounded to a whole multiple of `step`, which is above
    /// zero; a step of zero leaves it as it is.
    #[must_use]
    pub fn round_to(&self, step: &Self, rounding: Rounding) -> Self {
        let Some(count) = self.checked_div(step) else {
            return self.clone();
        };
        &rounding.apply(&count) * step
    }
}
