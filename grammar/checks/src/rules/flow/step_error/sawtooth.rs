//! The rounding error over the patients is a sawtooth: within one setting of
//! the pump it grows towards the edges at which rounding turns. So its worst
//! is at an edge, at an end or turn of the flow itself, or where a bound turns
//! the rounding round.

use gutta_protocol::curve::Curve;
use gutta_protocol::model::reference::{Pump, PumpRange};
use gutta_protocol::pump::{FlowBounds, pump_flow};
use gutta_quantity::{Exact, Rounding};

/// What rounding does to the flow of one patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Tooth {
    /// The patient.
    pub(super) x: Exact,
    /// The exact flow.
    pub(super) exact: Exact,
    /// What the pump runs.
    pub(super) set: Exact,
    /// Their difference over the exact flow.
    pub(super) error: Exact,
}

/// That rounding cannot move any patient's flow by more than the tolerance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Quiet {
    /// Whatever bounds it must not pass.
    Always,
    /// Where no bound turns it round: none lies between these.
    Between {
        /// Below all that the pump runs for the flow.
        low: Exact,
        /// Above all that the pump runs for the flow.
        high: Exact,
    },
}

impl Quiet {
    /// Told from the lowest flow alone; `None` where the teeth themselves are
    /// to be looked at.
    pub(super) fn of(pump: &Pump, flow: &Curve, tolerance: &Exact) -> Option<Self> {
        let gap = widest_gap(pump);
        let least = flow.min_value()?.value;
        let tolerated = &least * tolerance;
        if gap <= tolerated {
            return Some(Self::Always);
        }
        let half = &gap * &Exact::ratio(1, 2)?;
        if half > tolerated {
            return None;
        }
        Some(Self::Between {
            low: &least - &gap,
            high: &flow.max_value()?.value + &gap,
        })
    }
}

/// Rounding moves no flow by more than half of this, and where a bound turns it
/// round by no more than all. In one range of whole steps it is a step. Else it
/// is two: where ranges meet, what is left of a step and a seam no wider than
/// one lie between two settings, and above a range's last step all flows are
/// rounded down.
fn widest_gap(pump: &Pump) -> Exact {
    let steps = pump.flows.iter().filter_map(|range| range.step.as_ref());
    let widest = steps.max().cloned().unwrap_or_default();
    match pump.flows.as_slice() {
        [only] if is_even(only) => widest,
        _ => &widest + &widest,
    }
}

/// Whether a range ends at one of its steps.
fn is_even(range: &PumpRange) -> bool {
    range.step.as_ref().is_none_or(|step| {
        (&range.high - &range.low)
            .checked_div(step)
            .is_some_and(|count| count.is_whole())
    })
}

/// More edges than this are not sought: so many lie below the flow at which
/// half a step is within a tolerance of 1 in 8,000.
const MOST_EDGES: usize = 4_096;

/// The worst tooth; `None` where the pump can run no flow of the curve.
pub(super) fn worst(
    pump: &Pump,
    flow: &Curve,
    bounds: &FlowBounds,
    tolerance: &Exact,
) -> Option<Tooth> {
    let mut places: Vec<(Exact, Exact)> = Vec::new();
    let at = |x: Exact| flow.at(&x).map(|value| (x, value));
    places.extend(flow.breaks().into_iter().filter_map(at));
    for extremum in [flow.min_value(), flow.max_value()].into_iter().flatten() {
        places.push((extremum.x, extremum.value));
    }
    for range in &pump.flows {
        let Some(step) = &range.step else { continue };
        // A bound may turn the rounding by a whole step: above this flow even
        // that is within the tolerance.
        let calm = step
            .checked_div(tolerance)
            .unwrap_or_else(|| range.high.clone());
        let level = Curve::constant(flow.span().clone(), calm);
        let Some(low) = flow.min(&level) else {
            continue;
        };
        let edges = low.step_edges(step, &range.low, MOST_EDGES).edges;
        places.extend(edges.into_iter().map(|edge| (edge.lo, edge.value)));
    }
    // In a seam the settings are the ends of two ranges.
    for pair in pump.flows.windows(2) {
        let [below, above] = pair else { continue };
        let half = Exact::ratio(1, 2).unwrap_or_default();
        let middle = &(&below.high + &above.low) * &half;
        places.extend(crossings(
            flow,
            &Curve::constant(flow.span().clone(), middle),
        ));
    }
    for bound in bounds.curves() {
        places.extend(crossings(flow, bound));
    }
    places
        .into_iter()
        .filter_map(|(x, exact)| tooth(pump, bounds, x, exact))
        .max_by(|one, other| one.error.cmp(&other.error))
}

/// The tooth at a patient who can be told in few digits: rounding turns at the
/// worst one, and a weight told to the nearest digit may lie beyond the turn.
pub(super) fn tellable(pump: &Pump, flow: &Curve, bounds: &FlowBounds, worst: Tooth) -> Tooth {
    // As long as what is told is hardly less than the worst.
    let least = &worst.error * &Exact::ratio(99, 100).unwrap_or_default();
    let above = |size: i64| worst.x >= Exact::int(size);
    let figures = 2 - i32::from(above(10)) - i32::from(above(100)) + i32::from(!above(1));
    let ways = [Rounding::HalfUp, Rounding::Down, Rounding::Up];
    let places = (figures..figures + 6)
        .flat_map(|decimals| ways.map(|way| worst.x.round_to(&Exact::ten_to(-decimals), way)));
    let told = places.filter_map(|x| {
        let exact = flow.at(&x)?;
        tooth(pump, bounds, x, exact)
    });
    let mut told = told.filter(|tooth| tooth.set == worst.set && tooth.error >= least);
    told.next().unwrap_or(worst)
}

/// What rounding does to this flow of this patient.
fn tooth(pump: &Pump, bounds: &FlowBounds, x: Exact, exact: Exact) -> Option<Tooth> {
    let set = pump_flow(pump, &exact, &bounds.at(&x))?;
    let error = (&set - &exact).abs().checked_div(&exact)?;
    Some(Tooth {
        x,
        exact,
        set,
        error,
    })
}

/// Where the flow meets another curve, with the flow there.
fn crossings(flow: &Curve, other: &Curve) -> Vec<(Exact, Exact)> {
    let regions = [flow.where_above(other), flow.where_below(other)];
    regions
        .into_iter()
        .flatten()
        .flatten()
        .flat_map(|region| [region.from.x, region.to.x])
        .filter_map(|x| flow.at(&x).map(|value| (x, value)))
        .collect()
}
