//! Where a `usual` still holds beside more particular ones.

use gutta_quantity::work;

use super::holds::{Holds, holds, without_all};
use crate::derive::Patients;
use crate::model::limit::{LimitBound, When};
use crate::model::order::{Order, Phase};
use crate::model::size::Extent;

/// So many limits are looked through in a unit of work.
const LIMITS_A_UNIT: usize = 4;

/// Where a `usual` still holds once the more particular ones of its measure,
/// form and side have taken their share.
#[must_use]
pub fn gives_way(
    order: &Order,
    phase: &Phase,
    patients: &Patients,
    load: bool,
    bound: &LimitBound,
    all: &[LimitBound],
) -> Holds {
    let mut own = holds(order, phase, patients, load, &bound.when, &bound.except);
    if !bound.usual || own.over.is_empty() {
        return own;
    }
    work::charge_each(all.len() / LIMITS_A_UNIT);
    for other in all {
        let rival = other.usual
            && other.measure == bound.measure
            && other.form == bound.form
            && other.side == bound.side
            && other.over == bound.over
            && includes(&other.when, &bound.when);
        if rival {
            let theirs = holds(order, phase, patients, load, &other.when, &other.except);
            if theirs.asked.is_empty() {
                own.over = without_all(own.over, &theirs.over);
            }
        }
    }
    own
}

/// Whether the first asks for all that the second asks for, and more.
#[must_use]
pub fn includes(more: &When, less: &When) -> bool {
    asks_for_all(more, less) && count(more) > count(less)
}

/// Whether the two ask for the same, wherever they are written.
#[must_use]
pub fn asks_alike(one: &When, other: &When) -> bool {
    asks_for_all(one, other) && count(one) == count(other)
}

fn asks_for_all(more: &When, less: &When) -> bool {
    (less.routes.is_empty() || less.routes == more.routes)
        && (less.areas.is_empty() || less.areas == more.areas)
        && (less.purposes.is_empty() || less.purposes == more.purposes)
        && same(less.weights.as_ref(), more.weights.as_ref())
        && same(less.surfaces.as_ref(), more.surfaces.as_ref())
        && same(less.ages.as_ref(), more.ages.as_ref())
        && (less.after_first.is_none() || less.after_first == more.after_first)
}

fn same(less: Option<&Extent>, more: Option<&Extent>) -> bool {
    match (less, more) {
        (None, _) => true,
        (Some(less), Some(more)) => {
            less.low == more.low
                && less.high == more.high
                && less.high_excluded == more.high_excluded
        }
        (Some(_), None) => false,
    }
}

fn count(when: &When) -> usize {
    [
        !when.routes.is_empty(),
        !when.areas.is_empty(),
        !when.purposes.is_empty(),
        when.weights.is_some(),
        when.surfaces.is_some(),
        when.ages.is_some(),
        when.after_first.is_some(),
    ]
    .into_iter()
    .filter(|asked| *asked)
    .count()
}
