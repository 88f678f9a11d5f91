//! Sums over a delivery: in all, and the most in any stretch of time.

use gutta_quantity::Exact;

use super::most::{self, Rated};
use super::{Counted, Delivery, Repeats, times};
use crate::curve::Curve;

/// A sum that may never end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Endless<T> {
    /// It comes to this.
    Ends(T),
    /// It grows without end.
    WithoutEnd,
}

impl Delivery<'_> {
    /// All of something over the whole order; `None` where it cannot be
    /// computed.
    #[must_use]
    pub fn all(&self, counted: Counted<'_>) -> Option<Endless<Curve>> {
        let mut sum = self.view.patients.constant(Exact::ZERO);
        for piece in &self.pieces {
            let Some(per_volume) = self.in_piece(piece, counted) else {
                continue;
            };
            let (Some(volume), Some(times)) = (&piece.volume, times(&piece.every)) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(volume.mul(&per_volume)?, times))?;
        }
        if let Some(lost) = self.lost(self.pieces.iter(), counted)? {
            sum = sum.sub(&lost)?;
        }
        for flush in &self.flushes {
            let Some(strength) = self.in_flush(flush, counted) else {
                continue;
            };
            let Some(times) = times(&flush.every) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(flush.volume.scale(&strength), times))?;
        }
        for pushed in &self.pushed {
            let Some(per_volume) = self.in_pushed(pushed, counted) else {
                continue;
            };
            let Some(times) = times(&pushed.every) else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&repeated(pushed.volume.mul(&per_volume)?, times))?;
        }
        Some(Endless::Ends(sum))
    }

    /// The most of something in any stretch of `window`, over the patients. It
    /// is found where the window begins with the start of a piece, or ends with
    /// the end of one: between them the sum changes linearly. A flush has no
    /// rate, nor has what it pushes: they count wholly, wherever the window
    /// lies.
    #[must_use]
    pub fn most_in(&self, counted: Counted<'_>, window: &Exact) -> Option<Curve> {
        let mut most = self.most_running_in(counted, window)?;
        for flush in &self.flushes {
            if let Some(strength) = self.in_flush(flush, counted) {
                let times = times_in(&flush.every, window)?;
                most = most.add(&flush.volume.scale(&(&strength * &times)))?;
            }
        }
        for pushed in &self.pushed {
            if let Some(per_volume) = self.in_pushed(pushed, counted) {
                let times = times_in(&pushed.every, window)?;
                most = most.add(&pushed.volume.mul(&per_volume)?.scale(&times))?;
            }
        }
        Some(most)
    }

    fn most_running_in(&self, counted: Counted<'_>, window: &Exact) -> Option<Curve> {
        let patients = &self.view.patients;
        let mut rated = Vec::with_capacity(self.pieces.len());
        for piece in &self.pieces {
            if let Some(per_volume) = self.in_piece(piece, counted) {
                rated.push(Rated {
                    start: &piece.start,
                    time: piece.time.as_ref(),
                    every: &piece.every,
                    rate: piece.flow.mul(&per_volume)?,
                });
            }
        }
        most::most(patients, &rated, window)
    }
}

fn repeated(once: Curve, times: u32) -> Curve {
    match times {
        1 => once,
        times => once.scale(&Exact::from(i64::from(times))),
    }
}

/// How often something with these repetitions happens in a window, at most.
fn times_in(every: &Repeats, window: &Exact) -> Option<Exact> {
    let Some((interval, count)) = every else {
        return Some(Exact::ONE);
    };
    let fit = window.checked_div(interval)?.ceil().max(Exact::ONE);
    Some(match count {
        Some(count) => fit.min(Exact::from(i64::from(*count))),
        None => fit,
    })
}
