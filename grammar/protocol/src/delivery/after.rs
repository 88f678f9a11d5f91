//! What of a delivery is given after a time.

use gutta_quantity::Exact;

use super::{Delivery, Piece, Repeats, last_end};
use crate::curve::Curve;
use crate::derive::Patients;

impl<'a> Delivery<'a> {
    /// What flows once so much time has gone by since the order's start. A
    /// repetition that is under way then, and what begins before for some
    /// patients and after for others, counts wholly.
    #[must_use]
    pub fn after(&self, time: &Exact) -> Delivery<'a> {
        let mut rest = self.clone();
        let at = Clock {
            patients: &self.view.patients,
            time: self.view.patients.constant(time.clone()),
        };
        rest.pieces = self.pieces.iter().filter_map(|of| at.piece(of)).collect();
        rest.flushes
            .retain_mut(|of| at.moves(&mut of.start, &mut of.every));
        rest.pushed
            .retain_mut(|of| at.moves(&mut of.start, &mut of.every));
        rest
    }
}

/// The moment after which it counts.
struct Clock<'p> {
    patients: &'p Patients,
    time: Curve,
}

impl Clock<'_> {
    /// Whether all of something that ends so is over, for every patient.
    fn is_over(&self, end: &Curve) -> bool {
        let left = end.sub(&self.time).and_then(|left| left.max_value());
        left.is_some_and(|left| !left.value.is_positive())
    }

    /// What of a piece comes after; `None`: nothing.
    fn piece(&self, piece: &Piece) -> Option<Piece> {
        let end = last_end(
            self.patients,
            &piece.start,
            piece.time.as_ref(),
            &piece.every,
        );
        if end.as_ref().is_some_and(|end| self.is_over(end)) {
            return None;
        }
        let mut rest = piece.clone();
        if piece.every.is_some() {
            let lasts = piece.time.as_ref();
            let first_end = lasts.and_then(|time| piece.start.add(time));
            self.skip(first_end, &mut rest.start, &mut rest.every);
        } else if self.cut(&mut rest).is_none() {
            // What cannot be reckoned counts wholly.
            return Some(piece.clone());
        }
        Some(rest)
    }

    /// Takes off what of a piece that comes once flows before.
    fn cut(&self, piece: &mut Piece) -> Option<()> {
        let start = piece.start.max(&self.time)?;
        if let (Some(time), Some(_)) = (&piece.time, &piece.volume) {
            let nothing = self.patients.constant(Exact::ZERO);
            let left = piece.start.add(time)?.sub(&start)?.max(&nothing)?;
            piece.volume = Some(left.mul(&piece.flow)?);
            piece.time = Some(left);
        }
        piece.start = start;
        Some(())
    }

    /// Leaves out the repetitions that are over for every patient; the first
    /// ends at `first_end`.
    fn skip(&self, first_end: Option<Curve>, start: &mut Curve, every: &mut Repeats) -> Option<()> {
        let (interval, count) = every.as_mut()?;
        let gone = self.time.sub(&first_end?)?.min_value()?.value;
        let over = gone.checked_div(interval)?.floor().to_i64()?;
        let over = over.checked_add(1).filter(|over| *over > 0)?;
        *start = start.add(&self.patients.constant(&*interval * &Exact::from(over)))?;
        if let Some(count) = count {
            *count = count.saturating_sub(u32::try_from(over).unwrap_or(u32::MAX));
        }
        Some(())
    }

    /// The same of what is given at once; whether any of it is left.
    fn moves(&self, start: &mut Option<Curve>, every: &mut Repeats) -> bool {
        let Some(start) = start else { return true };
        let nothing = self.patients.constant(Exact::ZERO);
        let end = last_end(self.patients, start, Some(&nothing), every);
        if end.is_some_and(|end| self.is_over(&end)) {
            return false;
        }
        self.skip(Some(start.clone()), start, every);
        true
    }
}
