//! Limits of the same drug that come to hold for an order, or hold for it no
//! longer, since its route, area, age, weights or purpose are others. Where the
//! drug itself says something else, that is told at the drug.

use gutta_protocol::limits::holds;
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::LimitBound;

use super::Change;
use super::limits::of_bound;
use super::phases::{Pair, State};
use super::side::Judged;
use super::statement::{Statement, differences as between};
use super::telling::Telling;

pub(super) fn differences(before: &Judged, after: &Judged, telling: Telling<'_>) -> Vec<Change> {
    let drugs = (&before.order.drug, &after.order.drug);
    let (Some(old), Some(new)) = drugs else {
        return Vec::new();
    };
    let derived = before.values().is_ok() && after.values().is_ok();
    if old.value.name != new.value.name || !derived {
        return Vec::new();
    }
    let of = |judged, other, state| in_force(judged, other, telling.phases, state);
    let mut changes = between(
        of(before, &new.value, State::Before),
        of(after, &old.value, State::After),
        telling,
    );
    for change in &mut changes {
        change.derived = true;
    }
    changes
}

/// The limits that hold for the order's phases, of those that the other state
/// of the drug has too.
fn in_force(judged: &Judged, other: &Drug, pairs: &[Pair], state: State) -> Vec<Statement> {
    let (Some(drug), Ok(values)) = (&judged.order.drug, judged.values()) else {
        return Vec::new();
    };
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
            ) && of_bound(one).what == of_bound(other).what
        };
        other.limits.iter().any(same)
    };
    let mut all = Vec::new();
    for bound in drug.value.limits.iter().filter(kept) {
        for (index, pair) in pairs.iter().enumerate() {
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
                let statement = of_bound(bound);
                all.push(Statement {
                    what: format!("in force: {}", statement.what),
                    phase: Some(index),
                    ..statement
                });
            }
        }
    }
    all
}
