//! The most of something in any stretch of time of a given length.

use gutta_quantity::Exact;

use super::fixed::shared_for_all;
use super::rated::{Gives, MOST_OCCURRENCES, Rated, Window};
use crate::curve::Curve;
use crate::derive::Patients;

/// The most in any stretch of `length`, over the patients. It is found where
/// the window begins with the start of a giving, or ends with the end of one:
/// between them the sum changes linearly. Of two that are given at once, and lie
/// exactly the window's length apart, it sees one. Where it depends on the
/// patient whether it sees such a one, it is counted for all.
pub(super) fn most(patients: &Patients, rated: &[Rated<'_>], length: &Exact) -> Option<Curve> {
    if let [only] = rated
        && let Gives::Steadily(rate) = &only.gives
        && only.every.is_none()
    {
        return match &only.time {
            None => Some(rate.scale(length)),
            Some(time) => rate.mul(&time.min(&patients.constant(length.clone()))?),
        };
    }
    let windows = Windows::of(patients, rated, length)?;
    let mut most = patients.constant(Exact::ZERO);
    // Where whole givings begin and end to be seen, from window to window.
    let (mut full, mut none) = (0, 0);
    for (at, given) in rated.iter().enumerate() {
        let window = windows.from(given.start.clone())?;
        let sum = if windows.in_turn {
            full = full.max(at);
            while full < rated.len() && windows.ends_within(full, &window)? {
                full += 1;
            }
            none = none.max(full);
            while none < rated.len() && !windows.starts_after(none, &window)? {
                none += 1;
            }
            windows.sum(at..full, full..none, &window)?
        } else {
            windows.sum(0..0, 0..rated.len(), &window)?
        };
        most = most.max(&sum)?;
    }
    let (mut full, mut none) = (0, 0);
    for (at, given) in rated.iter().enumerate() {
        let Some(time) = &given.time else { continue };
        let mut ends = vec![given.start.add(time)?];
        if matches!(given.every, Some((_, Some(_)))) {
            ends.extend(windows.ends[at].clone());
        }
        for end in ends {
            let window = windows.to(end)?;
            let sum = if windows.in_turn {
                while none < at && windows.ends_before(none, &window)? {
                    none += 1;
                }
                full = full.max(none);
                while full < at && !windows.starts_within(full, &window)? {
                    full += 1;
                }
                // Its own repetitions may go on beyond the window.
                let mut sum = windows.sum(full..at, none..full, &window)?;
                sum = sum.add(&windows.part(at, &window)?)?;
                sum
            } else {
                windows.sum(0..0, 0..rated.len(), &window)?
            };
            most = most.max(&sum)?;
        }
    }
    for window in windows.within_repetitions()? {
        most = most.max(&windows.sum(0..0, 0..rated.len(), &window)?)?;
    }
    Some(most)
}

pub(super) struct Windows<'a> {
    pub(super) patients: &'a Patients,
    pub(super) rated: &'a [Rated<'a>],
    pub(super) length: Curve,
    /// When the last repetition of each ends; `None`: never.
    pub(super) ends: Vec<Option<Curve>>,
    /// The sum of all before each, as far as they end.
    sums: Vec<Curve>,
    /// Whether each starts when the one before has ended, for every patient.
    in_turn: bool,
}

impl<'a> Windows<'a> {
    fn of(patients: &'a Patients, rated: &'a [Rated<'a>], length: &Exact) -> Option<Self> {
        let mut sums = vec![patients.constant(Exact::ZERO)];
        let mut ends: Vec<Option<Curve>> = Vec::with_capacity(rated.len());
        let mut in_turn = true;
        for given in rated {
            if let Some(before) = ends.last() {
                in_turn &= match before {
                    Some(before) => is_no_more(before, given.start)?,
                    None => false,
                };
            }
            let (mut end, mut sum) = (None, None);
            if let Some(time) = &given.time {
                let once = given.once()?;
                let first = given.start.add(time)?;
                match given.every {
                    None => (end, sum) = (Some(first), Some(once)),
                    Some((interval, Some(count))) => {
                        let later = interval * &Exact::from(i64::from(count.saturating_sub(1)));
                        end = Some(first.add(&patients.constant(later))?);
                        sum = Some(once.scale(&Exact::from(i64::from(*count))));
                    }
                    Some((_, None)) => {}
                }
            }
            let before = sums.last()?;
            sums.push(match sum {
                Some(sum) => before.add(&sum)?,
                None => before.clone(),
            });
            ends.push(end);
        }
        Some(Self {
            patients,
            rated,
            length: patients.constant(length.clone()),
            ends,
            sums,
            in_turn,
        })
    }

    /// The window that begins so.
    pub(super) fn from(&self, begin: Curve) -> Option<Window> {
        let end = begin.add(&self.length)?;
        let holds_end = false;
        Some(Window {
            begin,
            end,
            holds_end,
        })
    }

    /// The window that ends so.
    pub(super) fn to(&self, end: Curve) -> Option<Window> {
        let begin = end.sub(&self.length)?;
        let holds_end = true;
        Some(Window {
            begin,
            end,
            holds_end,
        })
    }

    fn ends_within(&self, at: usize, window: &Window) -> Option<bool> {
        let Some(end) = &self.ends[at] else {
            return Some(false);
        };
        let least = window.end.sub(end)?.min_value()?.value;
        let at_the_end = window.holds_end || !self.rated[at].is_at_once();
        Some(least.is_positive() || (at_the_end && least.is_zero()))
    }

    fn ends_before(&self, at: usize, window: &Window) -> Option<bool> {
        match &self.ends[at] {
            Some(end) => is_no_more(end, &window.begin),
            None => Some(false),
        }
    }

    fn starts_after(&self, at: usize, window: &Window) -> Option<bool> {
        is_no_more(&window.end, self.rated[at].start)
    }

    fn starts_within(&self, at: usize, window: &Window) -> Option<bool> {
        is_no_more(&window.begin, self.rated[at].start)
    }

    /// All of those that are `whole` in the window, and what it sees of others.
    fn sum(
        &self,
        whole: std::ops::Range<usize>,
        others: std::ops::Range<usize>,
        window: &Window,
    ) -> Option<Curve> {
        let mut sum = match whole.is_empty() {
            true => self.patients.constant(Exact::ZERO),
            false => self.sums[whole.end].sub(&self.sums[whole.start])?,
        };
        for at in others {
            sum = sum.add(&self.part(at, window)?)?;
        }
        Some(sum)
    }

    /// What one of them, with its repetitions, gives in the window.
    fn part(&self, at: usize, window: &Window) -> Option<Curve> {
        let given = &self.rated[at];
        match &given.gives {
            Gives::AtOnce(amount) => {
                let seen = self.seen(given, window)?;
                Some(amount.scale(&Exact::from(seen)))
            }
            Gives::Steadily(rate) => self.steady_part(given, rate, window),
        }
    }

    /// How many of what is given at once the window sees, for any patient.
    fn seen(&self, given: &Rated<'_>, window: &Window) -> Option<i64> {
        let lead = window.begin.sub(given.start)?;
        let least = lead.min_value()?.value;
        let most = &lead.max_value()?.value + self.length.is_constant()?;
        // With the beginning and without the end, or the reverse.
        let (after, before) = if window.holds_end {
            (least.is_negative(), !most.is_negative())
        } else {
            (!least.is_positive(), most.is_positive())
        };
        let Some((interval, count)) = given.every else {
            return Some(i64::from(after && before));
        };
        let place = |time: &Exact, up: bool| {
            let place = time.checked_div(interval)?;
            let place = if up { place.ceil() } else { place.floor() };
            Some(place.to_i64().unwrap_or(i64::MAX))
        };
        let (from, to) = if window.holds_end {
            (
                place(&least, false)?.saturating_add(1),
                place(&most, false)?,
            )
        } else {
            (place(&least, true)?, place(&most, true)?.saturating_sub(1))
        };
        let last = count.map_or(i64::MAX, |count| i64::from(count) - 1);
        let seen = to.min(last).saturating_sub(from.max(0));
        Some(seen.saturating_add(1).max(0))
    }

    fn steady_part(&self, given: &Rated<'_>, rate: &Curve, window: &Window) -> Option<Curve> {
        let patients = self.patients;
        if let Some(shared) = shared_for_all(given, window) {
            return Some(rate.scale(&shared));
        }
        let time = given.time.as_ref();
        let overlap = |start: &Curve| overlap(patients, start, time, window)?.mul(rate);
        let (Some((interval, count)), Some(time)) = (given.every, time) else {
            return overlap(given.start);
        };
        // From the start of the first to the window's begin.
        let lead = window.begin.sub(given.start)?;
        let (least, most) = (lead.min_value()?.value, lead.max_value()?.value);
        let longest = time.max_value()?.value;
        let length = self.length.is_constant()?;
        let last = count.map_or(i64::MAX, |count| i64::from(count) - 1);
        let place = |time: Exact, up: bool| {
            let place = time.checked_div(interval)?;
            let place = if up { place.ceil() } else { place.floor() };
            Some(place.to_i64().unwrap_or(i64::MAX))
        };
        // Those that some patient's window may see.
        let from = place(&least - &longest, true)?.max(0);
        let to = place(&most + length, false)?.min(last);
        // Those that every patient's window sees wholly.
        let whole_from = place(most, true)?.clamp(from, to.saturating_add(1).max(from));
        let whole_to = place(&(&least + length) - &longest, false)?.min(to);
        let whole = (whole_to.saturating_sub(whole_from).saturating_add(1)).max(0);
        let all = (to.saturating_sub(from).saturating_add(1)).max(0);
        let once = rate.mul(time)?;
        if all - whole > MOST_OCCURRENCES {
            // So many that their mean, and one more, is the most.
            let mean = &length.checked_div(interval)? + &Exact::ONE;
            return Some(once.scale(&mean.min(Exact::from(last.saturating_add(1)))));
        }
        let mut sum = once.scale(&Exact::from(whole));
        let parts = (from..whole_from).chain(whole_from.saturating_add(whole)..=to);
        for occurrence in parts {
            let later = patients.constant(interval * &Exact::from(occurrence));
            sum = sum.add(&overlap(&given.start.add(&later)?)?)?;
        }
        Some(sum)
    }
}

/// Whether one is no more than the other for every patient.
pub(super) fn is_no_more(one: &Curve, other: &Curve) -> Option<bool> {
    let least = other.sub(one)?.min_value()?;
    Some(!least.value.is_negative())
}

/// How long a stretch and a window share.
fn overlap(
    patients: &Patients,
    start: &Curve,
    time: Option<&Curve>,
    window: &Window,
) -> Option<Curve> {
    let last = match time {
        Some(time) => start.add(time)?.min(&window.end)?,
        None => window.end.clone(),
    };
    last.sub(&start.max(&window.begin)?)?
        .max(&patients.constant(Exact::ZERO))
}
