//! How long a giving and a window share where neither depends on the patient: a
//! matter of numbers, and no curve.

use gutta_quantity::{Exact, work};

use super::rated::{MOST_OCCURRENCES, Rated, Window};

/// So many repetitions that a window sees in part are added up in a unit of work.
const PARTS_A_UNIT: i64 = 4;

/// How long a giving, with its repetitions, flows within a window; `None` where
/// that depends on the patient, or where the window sees too many repetitions in
/// part.
pub(super) fn shared_for_all(given: &Rated<'_>, window: &Window) -> Option<Exact> {
    let start = given.start.is_constant()?;
    let (begin, end) = (window.begin.is_constant()?, window.end.is_constant()?);
    let time = match &given.time {
        Some(time) => Some(time.is_constant()?),
        None => None,
    };
    let overlap = |start: &Exact| {
        let last = time.map_or_else(|| end.clone(), |time| (start + time).min(end.clone()));
        (last - start.clone().max(begin.clone())).max(Exact::ZERO)
    };
    let (Some((interval, count)), Some(time)) = (given.every, time) else {
        return Some(overlap(start));
    };
    let place = |time: Exact, up: bool| {
        let place = time.checked_div(interval)?;
        let place = if up { place.ceil() } else { place.floor() };
        place.to_i64()
    };
    let last = count.map_or(i64::MAX - 1, |count| i64::from(count) - 1);
    // Those that it sees, and of them those that it sees wholly.
    let from = place(&(begin - start) - time, true)?.max(0);
    let to = place(end - start, false)?.min(last);
    let whole_from = place(begin - start, true)?.clamp(from, (to + 1).max(from));
    let whole_to = place(&(end - start) - time, false)?.min(to);
    let whole = (whole_to.saturating_sub(whole_from).saturating_add(1)).max(0);
    if to.saturating_sub(from) - whole >= MOST_OCCURRENCES {
        return None;
    }
    let mut sum = time * &Exact::from(whole);
    for place in (from..whole_from).chain(whole_from + whole..=to) {
        work::charge(u64::from(place % PARTS_A_UNIT == 0));
        sum = sum + overlap(&(start + &(interval * &Exact::from(place))));
    }
    Some(sum)
}
