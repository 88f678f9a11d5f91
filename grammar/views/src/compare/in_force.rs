//! Limits of the same drug or ingredient that come to hold for an order, or hold for it no
//! longer, since its route, area, age, weights or purpose are others. Where the
//! drug or ingredient itself says something else, that is told there.

use gutta_protocol::limits::holds;
use gutta_protocol::model::limit::LimitBound;

use super::Change;
use super::limits::of_bound;
use super::phases::State;
use super::side::Judged;
use super::statement::{Statement, differences as between};
use super::telling::Telling;

pub(super) fn differences(before: &Judged, after: &Judged, telling: Telling<'_>) -> Vec<Change> {
    if before.values().is_err() || after.values().is_err() {
        return Vec::new();
    }
    let mut changes = Vec::new();
    let mut compare = |old: &[LimitBound], new: &[LimitBound], of: &str| {
        let all =
            |analysis, (own, other), state| in_force(analysis, (own, other), of, telling, state);
        changes.extend(between(
            all(before, (old, new), State::Before),
            all(after, (new, old), State::After),
            telling,
        ));
    };
    if let (Some(old), Some(new)) = (&before.order.drug, &after.order.drug)
        && old.value.name == new.value.name
    {
        compare(&old.value.limits, &new.value.limits, "");
    }
    for old in &before.order.ingredients {
        let mut others = after.order.ingredients.iter();
        if let Some(new) = others.find(|new| new.name == old.name) {
            let of = format!("{}, ", old.name);
            compare(&old.value.limits, &new.value.limits, &of);
        }
    }
    for change in &mut changes {
        change.derived = true;
    }
    changes
}

/// The limits that hold for the order's phases, of those that the other state
/// of the drug or ingredient has too.
fn in_force(
    judged: &Judged,
    (own, other): (&[LimitBound], &[LimitBound]),
    of: &str,
    telling: Telling<'_>,
    state: State,
) -> Vec<Statement> {
    let Ok(values) = judged.values() else {
        return Vec::new();
    };
    let what = |bound: &LimitBound| of_bound(bound, telling.style).what;
    let kept = |bound: &&LimitBound| {
        let same = |known: &LimitBound| {
            let (one, other) = (known, *bound);
            (
                one.measure,
                one.usual,
                one.side,
                &one.bound,
                one.form,
                &one.over,
            ) == (
                other.measure,
                other.usual,
                other.side,
                &other.bound,
                other.form,
                &other.over,
            ) && what(one) == what(other)
        };
        other.iter().any(same)
    };
    let mut all = Vec::new();
    for bound in own.iter().filter(kept) {
        for (index, pair) in telling.phases.iter().enumerate() {
            let place = match state {
                State::Before => pair.before,
                State::After => pair.after,
            };
            let phase = place.and_then(|place| judged.order.phases.get(place));
            let (Some(phase), Some(_), Some(_)) = (phase, pair.before, pair.after) else {
                continue;
            };
            let with_load = [phase.is_loading(), !phase.boluses.is_empty()];
            let applies = values.views.iter().any(|view| {
                with_load.into_iter().any(|load| {
                    let (order, patients) = (&judged.order, &view.patients);
                    let held = holds(order, phase, patients, load, &bound.when, &bound.except);
                    !held.over.is_empty()
                })
            });
            if applies {
                let statement = of_bound(bound, telling.style);
                all.push(Statement {
                    what: format!("applies: {of}{}", statement.what),
                    phase: Some(index),
                    ..statement
                });
            }
        }
    }
    all
}
