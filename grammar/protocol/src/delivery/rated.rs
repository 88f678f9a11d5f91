//! Stretches of giving, and the windows in which they are added up.

use super::Repeats;
use crate::curve::Curve;

/// One stretch of giving, with what it gives.
pub(super) struct Rated<'a> {
    /// When it starts.
    pub(super) start: &'a Curve,
    /// How long it lasts; `None`: without end.
    pub(super) time: Option<Curve>,
    /// Its repetitions.
    pub(super) every: &'a Repeats,
    /// How much.
    pub(super) gives: Gives,
}

/// What a stretch of giving gives.
pub(super) enum Gives {
    /// So much per time.
    Steadily(Curve),
    /// All of it as it starts: a flush, which states no rate, and what it
    /// pushes out of the line.
    AtOnce(Curve),
}

impl Rated<'_> {
    /// All of it, once; `None`: without end, or it cannot be computed.
    pub(super) fn once(&self) -> Option<Curve> {
        match &self.gives {
            Gives::Steadily(rate) => rate.mul(self.time.as_ref()?),
            Gives::AtOnce(amount) => Some(amount.clone()),
        }
    }

    pub(super) const fn is_at_once(&self) -> bool {
        matches!(self.gives, Gives::AtOnce(_))
    }
}

/// More givings of which it depends on the patient whether the window sees them
/// are counted by their mean, upwards.
pub(super) const MOST_OCCURRENCES: i64 = 500;

/// One window.
pub(super) struct Window {
    pub(super) begin: Curve,
    pub(super) end: Curve,
    /// Whether the moment of its end is in it, and not that of its beginning.
    pub(super) holds_end: bool,
}
