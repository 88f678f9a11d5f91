//! Sums over a delivery: in all, and the most in any stretch of time.

use gutta_quantity::Exact;

use super::{Counted, Delivery, Piece, Repeats, times};
use crate::curve::Curve;
use crate::derive::Patients;

/// A sum that may never end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Endless<T> {
    /// It comes to this.
    Ends(T),
    /// It grows without end.
    WithoutEnd,
}

/// More givings than this in one window are counted by their mean, upwards.
const MOST_OCCURRENCES: i64 = 500;

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
                rated.push((piece, piece.flow.mul(&per_volume)?));
            }
        }
        let zero = patients.constant(Exact::ZERO);
        if let [(piece, rate)] = rated.as_slice()
            && piece.time.is_none()
            && piece.every.is_none()
        {
            return Some(rate.scale(window));
        }
        let length = patients.constant(window.clone());
        let mut most = zero.clone();
        for (piece, _) in &rated {
            let mut begins = vec![piece.start.clone()];
            if let Some(time) = &piece.time {
                begins.push(piece.start.add(time)?.sub(&length)?);
                if let Some((interval, Some(count))) = &piece.every {
                    let later = interval * &Exact::from(i64::from(count.saturating_sub(1)));
                    let end = piece.start.add(time)?.add(&patients.constant(later))?;
                    begins.push(end.sub(&length)?);
                }
            }
            for begin in begins {
                let end = begin.add(&length)?;
                let mut sum = zero.clone();
                for (piece, rate) in &rated {
                    sum = sum.add(&piece.in_window(patients, rate, &begin, &end, window)?)?;
                }
                most = most.max(&sum)?;
            }
        }
        Some(most)
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

impl Piece {
    /// What this piece, with its repetitions, gives between two moments.
    fn in_window(
        &self,
        patients: &Patients,
        rate: &Curve,
        begin: &Curve,
        end: &Curve,
        window: &Exact,
    ) -> Option<Curve> {
        let Some((interval, count)) = &self.every else {
            return overlap(patients, &self.start, self.time.as_ref(), begin, end)?.mul(rate);
        };
        let Some(time) = &self.time else {
            return overlap(patients, &self.start, None, begin, end)?.mul(rate);
        };
        let fit = window
            .checked_div(interval)?
            .ceil()
            .to_i64()
            .unwrap_or(i64::MAX)
            .saturating_add(1);
        let count = count.map_or(i64::MAX, i64::from);
        if fit.min(count) > MOST_OCCURRENCES {
            // So many givings that their mean, and one more, is the most.
            let mean = &window.checked_div(interval)? + &Exact::ONE;
            return Some(rate.mul(time)?.scale(&mean));
        }
        let mut sum = patients.constant(Exact::ZERO);
        // A window that ends with the end of the course sees its last givings.
        let from_end = count <= 2 * MOST_OCCURRENCES && begin != &self.start;
        let range = if from_end {
            0..count
        } else {
            0..fit.min(count)
        };
        for occurrence in range {
            let later = patients.constant(interval * &Exact::from(occurrence));
            let start = self.start.add(&later)?;
            sum = sum.add(&overlap(patients, &start, Some(time), begin, end)?.mul(rate)?)?;
        }
        Some(sum)
    }
}

/// How long a stretch and a window share.
fn overlap(
    patients: &Patients,
    start: &Curve,
    time: Option<&Curve>,
    begin: &Curve,
    end: &Curve,
) -> Option<Curve> {
    let last = match time {
        Some(time) => start.add(time)?.min(end)?,
        None => end.clone(),
    };
    last.sub(&start.max(begin)?)?
        .max(&patients.constant(Exact::ZERO))
}
