//! The windows that begin or end with a repetition which is neither the first
//! nor the last. Alone, the first is as good; beside other givings the sum of a
//! window that moves from repetition to repetition changes linearly, until its
//! other end meets the start or the end of another giving: the repetitions next
//! to that are looked at. While it lies among the repetitions of another, every
//! one is.

use std::collections::BTreeSet;

use gutta_quantity::Exact;

use super::most::Windows;
use super::rated::{Rated, Window};
use crate::curve::Curve;

/// So many repetitions are looked at from either end of those that are to be.
const MOST: i64 = 128;

/// So many from either end, where a time is not over before the next begins.
const OVERLAPPING: i64 = 4;

impl Windows<'_> {
    /// Such windows; `None` where it cannot be computed.
    pub(super) fn within_repetitions(&self) -> Option<Vec<Window>> {
        if self.all_are_in_step()? {
            return self.well_within();
        }
        let mut windows = Vec::new();
        for (at, given) in self.rated.iter().enumerate() {
            let (Some((interval, count)), Some(time)) = (given.every, &given.time) else {
                continue;
            };
            let mut others = self.rated.iter().enumerate();
            let beside = others.any(|(other, _)| other != at && self.may_meet(at, other));
            if !beside {
                continue;
            }
            let last = count.map_or(i64::MAX, |count| i64::from(count) - 1);
            // From the last one on, what follows is all that the window sees.
            let mut starting: BTreeSet<_> = count.iter().map(|_| last).collect();
            let mut ending = BTreeSet::new();
            for other in 0..self.rated.len() {
                if other == at || !self.may_meet(at, other) {
                    continue;
                }
                let end = given.start.add(time)?;
                for (from, to) in self.stretches(at, other)? {
                    // The window begins with a repetition, and ends in it.
                    let lead = |edge: &Curve| edge.sub(&self.length)?.sub(given.start);
                    starting.extend(places(lead(&from)?, to.as_ref().map(lead), interval, last)?);
                    // It begins in it, and ends with a repetition.
                    let lead = |edge: &Curve| edge.add(&self.length)?.sub(&end);
                    ending.extend(places(lead(&from)?, to.as_ref().map(lead), interval, last)?);
                }
            }
            let later = |place: i64| self.patients.constant(interval * &Exact::from(place));
            for place in starting {
                windows.push(self.from(given.start.add(&later(place))?)?);
            }
            for place in ending {
                let end = given.start.add(time)?.add(&later(place))?;
                windows.push(self.to(end)?);
            }
        }
        Some(windows)
    }

    /// Whether two are given again and again together, and each time both are
    /// over before the next begins. A window that moves by such a time then sees
    /// the same of both, but for what lies before the first time or after the
    /// last.
    fn are_in_step(&self, one: usize, other: usize) -> Option<bool> {
        let (one, other) = (&self.rated[one], &self.rated[other]);
        let Some((interval, _)) = one.every.as_ref().filter(|_| one.every == other.every) else {
            return Some(false);
        };
        let interval = self.patients.constant(interval.clone());
        let over = |one: &Rated<'_>, other: &Rated<'_>| {
            let Some(time) = &one.time else {
                return Some(false);
            };
            let next = other.start.add(&interval)?;
            super::most::is_no_more(&one.start.add(time)?, &next)
        };
        Some(over(one, other)? && over(other, one)?)
    }

    /// Whether all of several are.
    fn all_are_in_step(&self) -> Option<bool> {
        let count = self.rated.len();
        for one in 0..count {
            for other in one + 1..count {
                if !self.are_in_step(one, other)? {
                    return Some(false);
                }
            }
        }
        Some(count > 1)
    }

    /// Of what is given in step: as much as any window that begins with a start
    /// sees the one that begins with the first, and as any that ends with an end
    /// the one that ends with the last. Where there is no last, any stands for
    /// it that has the first times behind it.
    fn well_within(&self) -> Option<Vec<Window>> {
        let mut windows = Vec::new();
        for given in self.rated {
            if let (Some((interval, None)), Some(time)) = (given.every, &given.time) {
                let length = self.length.is_constant()?;
                let times = length.checked_div(interval)?.ceil() + Exact::ONE;
                let later = self.patients.constant(&times * interval);
                windows.push(self.to(given.start.add(time)?.add(&later)?)?);
            }
        }
        Some(windows)
    }

    /// Whether any window can hold something of both.
    fn may_meet(&self, one: usize, other: usize) -> bool {
        let apart = |earlier: usize, later: usize| {
            let end = self.ends.get(earlier)?.as_ref()?.add(&self.length)?;
            super::most::is_no_more(&end, self.rated.get(later)?.start)
        };
        apart(one, other) != Some(true) && apart(other, one) != Some(true)
    }

    /// Where the other end of a window changes what the next repetition of one
    /// adds of another: from when to when; `None`: without end. What is given once
    /// does so where it starts and ends; what is given in step, where its first
    /// and its last time do, and a few more where they overlap; all else that
    /// repeats, from its first start on to its last end.
    fn stretches(&self, one: usize, other: usize) -> Option<Vec<(Curve, Option<Curve>)>> {
        let given = &self.rated[other];
        let mut stretches = Vec::new();
        let mut once = |start: Curve| {
            if let Some(time) = &given.time {
                let end = start.add(time)?;
                stretches.push((end.clone(), Some(end)));
            }
            stretches.push((start.clone(), Some(start)));
            Some(())
        };
        let Some((interval, count)) = given.every else {
            once(given.start.clone())?;
            return Some(stretches);
        };
        if self.rated[one].every != given.every {
            return Some(vec![(given.start.clone(), self.ends[other].clone())]);
        }
        let ends = match self.are_in_step(one, other)? {
            true => 1,
            false => OVERLAPPING,
        };
        let last = count.map_or(ends, i64::from);
        for place in (0..last.min(ends)).chain((last - ends).max(ends)..last) {
            let later = interval * &Exact::from(place);
            once(given.start.add(&self.patients.constant(later))?)?;
        }
        Some(stretches)
    }
}

/// The repetitions from the one before a time to the one after another, each
/// from the start of the first, for any patient.
fn places(
    from: Curve,
    to: Option<Option<Curve>>,
    interval: &Exact,
    last: i64,
) -> Option<impl Iterator<Item = i64>> {
    let place = |time: &Exact| {
        let place = time.checked_div(interval)?.floor();
        Some(place.to_i64().unwrap_or(i64::MAX - 1))
    };
    let from = place(&from.min_value()?.value)?.max(0);
    let to = match to {
        Some(to) => place(&to?.max_value()?.value)?.saturating_add(1).min(last),
        None => last,
    };
    let first = from..=to.min(from.saturating_add(MOST));
    let rest = to.saturating_sub(MOST).max(first.end().saturating_add(1))..=to;
    // Without end there is no last.
    let rest = (to < i64::MAX).then_some(rest);
    Some(first.chain(rest.into_iter().flatten()))
}
