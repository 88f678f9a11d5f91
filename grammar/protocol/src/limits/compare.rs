//! One reading against one bound.

use gutta_quantity::Exact;

use super::asked::asked as asked_of_bound;
use super::gives_way::gives_way;
use super::holds::{Holds, Stretch, without_all};
use super::judgement::{Breach, Judgement, Unchecked};
use super::readings::{Reading, Reads};
use crate::StanzaId;
use crate::curve::{Curve, Region};
use crate::derive::View;
use crate::model::limit::{LimitBound, Side};
use crate::model::order::Order;

/// What the readings of one view are judged for, and where it is noted.
pub(super) struct Judging<'a> {
    pub(super) judgement: &'a mut Judgement,
    pub(super) order: &'a Order,
    pub(super) view: &'a View,
    /// Which view it is.
    pub(super) index: usize,
    /// The drug's stanza.
    pub(super) drug: StanzaId,
    pub(super) limits: &'a [LimitBound],
}

/// Compares one reading with one bound, within these stretches; for whom the
/// bound applies to it.
pub(super) fn judge_reading(
    judging: &mut Judging<'_>,
    bound: &LimitBound,
    reading: Reading,
    within: Option<&[Stretch]>,
) -> Vec<Stretch> {
    let &mut Judging {
        ref mut judgement,
        order,
        view,
        index,
        drug,
        limits,
    } = judging;
    let Some(phase) = order.phases.get(reading.phase) else {
        return Vec::new();
    };
    let Holds { mut over, asked } =
        gives_way(order, phase, &view.patients, reading.load, bound, limits);
    over = without_all(over, &reading.given_way);
    if let Some(within) = within {
        over = shared(&over, within);
        if over.is_empty() {
            return over;
        }
    }
    for asked in &asked {
        judgement.unanswered(drug, bound.span, asked);
    }
    if let (Some(after), Some(ends)) = (&bound.when.after_first, &reading.ends) {
        // What ends within the first time is not judged.
        let later = ends
            .where_above(&view.patients.constant(after.clone()))
            .unwrap_or_default();
        let later: Vec<_> = later.iter().map(Stretch::of_region).collect();
        over = shared(&over, &later);
    }
    if over.is_empty() {
        return over;
    }
    match &reading.value {
        Reads::Unknown(why) => {
            let (span, at) = (bound.span, reading.span);
            let unchecked = Unchecked {
                drug,
                span,
                measure: bound.measure,
                at,
                why: *why,
            };
            if !judgement.unchecked.contains(&unchecked) {
                judgement.unchecked.push(unchecked);
            }
        }
        Reads::WithoutEnd => {
            if bound.side == Side::High {
                let regions = over.iter().map(Stretch::region).collect();
                judgement.breaches.push(Breach {
                    drug,
                    bound: bound.clone(),
                    view: index,
                    reading,
                    regions,
                    worst: None,
                });
            }
        }
        Reads::Value(curve) => {
            let mut regions = Vec::new();
            let mut worst: Option<(Exact, Exact)> = None;
            for stretch in &over {
                let line = asked_of_bound((order, view, limits), bound, &reading, stretch);
                let Some(found) = beyond_line(curve, stretch, bound, &line) else {
                    continue;
                };
                regions.extend(found.0);
                worst = match (worst, found.1) {
                    (None, found) => found,
                    (Some(known), Some(found)) if further(&found.0, &known.0, bound.side) => {
                        Some(found)
                    }
                    (known, _) => known,
                };
            }
            if !regions.is_empty() {
                judgement.breaches.push(Breach {
                    drug,
                    bound: bound.clone(),
                    view: index,
                    reading,
                    regions,
                    worst,
                });
            }
        }
    }
    over
}

/// What two rows of stretches share.
pub(super) fn shared(one: &[Stretch], other: &[Stretch]) -> Vec<Stretch> {
    let each = one.iter();
    each.flat_map(|stretch| other.iter().filter_map(|other| stretch.intersect(other)))
        .collect()
}

fn further(one: &Exact, other: &Exact, side: Side) -> bool {
    match side {
        Side::High => one > other,
        Side::Low => one < other,
    }
}

/// Where a curve lies beyond a bound, and its worst value with the place of it.
pub type Beyond = (Vec<Region>, Option<(Exact, Exact)>);

/// Where on a stretch a curve lies beyond a bound, with the worst of it.
#[must_use]
pub fn beyond(curve: &Curve, stretch: &Stretch, bound: &LimitBound) -> Option<Beyond> {
    let line = Curve::constant(curve.span().clone(), bound.bound.clone());
    beyond_line(curve, stretch, bound, &line)
}

/// The same, where the bound itself depends on the patient.
fn beyond_line(
    curve: &Curve,
    stretch: &Stretch,
    bound: &LimitBound,
    line: &Curve,
) -> Option<Beyond> {
    let interval = stretch.interval()?;
    let (part, line) = (curve.restrict(&interval)?, line.restrict(&interval)?);
    let mut regions = match bound.side {
        Side::High => part.where_above(&line)?,
        Side::Low => part.where_below(&line)?,
    };
    if stretch.hi_excluded {
        // A single number at an end that is left out is no breach.
        regions.retain(|region| region.from.x < stretch.hi);
        if let Some(last) = regions.last_mut() {
            last.to.included &= last.to.x != stretch.hi;
        }
    }
    if regions.is_empty() {
        return None;
    }
    let apart = match bound.side {
        Side::High => part.sub(&line)?,
        Side::Low => line.sub(&part)?,
    };
    let x = apart.max_value()?.x;
    Some((regions, Some((part.at(&x)?, x))))
}
