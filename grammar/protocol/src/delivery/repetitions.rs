//! The windows that begin or end with a repetition which is neither the first
//! nor the last. Alone, the first is as good; beside other givings the sum of a
//! window that moves from repetition to repetition changes linearly, until its
//! other end meets the start or the end of another giving: the repetitions next
//! to that are looked at.

use std::collections::BTreeSet;

use gutta_quantity::Exact;

use super::most::{Rated, Window, Windows};
use crate::curve::Curve;

/// So many repetitions of a giving that goes on beside it are looked at from
/// either end.
const ENDS: i64 = 4;

/// Of so many repetitions, where it depends on the patient which it is.
const SPREAD: i64 = 64;

impl Windows<'_> {
    /// Such windows; `None` where it cannot be computed.
    pub(super) fn within_repetitions(&self) -> Option<Vec<Window>> {
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
            for (other, beside) in self.rated.iter().enumerate() {
                if other == at || !self.may_meet(at, other) {
                    continue;
                }
                for edge in edges(beside, self)? {
                    // The window begins with a repetition, and ends at the edge.
                    let lead = edge.sub(&self.length)?.sub(given.start)?;
                    starting.extend(near(&lead, interval, last)?);
                    // It begins at the edge, and ends with a repetition.
                    let lead = edge.add(&self.length)?.sub(&given.start.add(time)?)?;
                    ending.extend(near(&lead, interval, last)?);
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

    /// Whether any window can hold something of both.
    fn may_meet(&self, one: usize, other: usize) -> bool {
        let apart = |earlier: usize, later: usize| {
            let end = self.ends.get(earlier)?.as_ref()?.add(&self.length)?;
            super::most::is_no_more(&end, self.rated.get(later)?.start)
        };
        apart(one, other) != Some(true) && apart(other, one) != Some(true)
    }
}

/// Where a giving starts and ends; of one that repeats, its first and its last
/// times.
fn edges(given: &Rated<'_>, windows: &Windows<'_>) -> Option<Vec<Curve>> {
    let mut edges = Vec::new();
    let mut push = |start: Curve| {
        if let Some(time) = &given.time {
            edges.push(start.add(time)?);
        }
        edges.push(start);
        Some(())
    };
    let Some((interval, count)) = given.every else {
        push(given.start.clone())?;
        return Some(edges);
    };
    let last = count.map_or(ENDS, i64::from);
    let first = (0..last.min(ENDS)).chain((last - ENDS).max(ENDS)..last);
    for place in first {
        let later = windows.patients.constant(interval * &Exact::from(place));
        push(given.start.add(&later)?)?;
    }
    Some(edges)
}

/// The repetitions before and after a time from the start of the first, for any
/// patient.
fn near(lead: &Curve, interval: &Exact, last: i64) -> Option<Vec<i64>> {
    let place = |time: &Exact| time.checked_div(interval)?.floor().to_i64();
    let (Some(from), Some(to)) = (
        place(&lead.min_value()?.value),
        place(&lead.max_value()?.value),
    ) else {
        return Some(Vec::new());
    };
    let from = from.max(0);
    let to = to
        .saturating_add(1)
        .min(last)
        .min(from.saturating_add(SPREAD));
    Some((from..=to).collect())
}
