//! Numbers, quantities, ranges, names and dates, as they were written.

use gutta_quantity::{Exact, Quantity, Unit};
use smol_str::SmolStr;

use crate::{Span, Spanned};

/// A name, NFC-normalised.
pub type Name = Spanned<SmolStr>;
/// A quoted text without its quotes; the span includes them.
pub type Text = Spanned<SmolStr>;

/// A quantity as an author wrote it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The number; `None` where no value was read (a mark says why). A
    /// compound time is counted in the unit of its last part.
    pub value: Option<Exact>,
    /// Digits written after the point, trailing zeros included.
    pub decimals: u8,
    /// The unit.
    pub unit: WrittenUnit,
    /// Number and unit.
    pub span: Span,
    /// The unit alone; empty, at the number's end, where it is missing.
    pub unit_span: Span,
}

/// A unit as an author wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WrittenUnit {
    /// One of the notation's.
    Known(Unit),
    /// None was written (a mark says so, unless the place takes a number).
    Missing,
    /// None of the notation's (a mark says so).
    Unknown,
}

impl WrittenUnit {
    /// The unit, where one was read.
    #[must_use]
    pub const fn known(self) -> Option<Unit> {
        match self {
            Self::Known(unit) => Some(unit),
            Self::Missing | Self::Unknown => None,
        }
    }
}

impl Written {
    /// The quantity, if both number and unit were read.
    #[must_use]
    pub fn quantity(&self) -> Option<Quantity> {
        Some(Quantity {
            value: self.value.clone()?,
            unit: self.unit.known()?,
        })
    }
}

/// A range; ends included unless said. A single quantity (`70 kg`) is a range
/// whose ends are equal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Range {
    /// The lower end; `None` for `up to Q` and `below Q`. Where only the
    /// second unit was written, this end carries it too.
    pub low: Option<Written>,
    /// The upper end; `None` for `Q or more`.
    pub high: Option<Written>,
    /// Whether the upper end is left out (`below Q`).
    pub high_excluded: bool,
    /// The whole of it.
    pub span: Span,
}

/// A calendar date (ISO 8601) that exists. Ordered by time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Date {
    /// Year, 0 to 9999.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
}

/// As the notation writes it: `2026-11-25`.
impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { year, month, day } = self;
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}
