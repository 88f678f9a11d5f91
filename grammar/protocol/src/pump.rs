//! A pump's settings: what it can run, and what it makes of an exact flow.

use gutta_notation::ast::LimitMeasure;
use gutta_quantity::Exact;

use crate::curve::{Curve, Region};
use crate::derive::{Run, View};
use crate::limits::{CeilingOf, Stretch, ceilings, flow_of_ingredient, flow_of_limit};
use crate::model::limit::{LimitBound, Side};
use crate::model::order::Order;
use crate::model::reference::{Pump, PumpRange};

/// The settings next to an exact flow, base units of flow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The greatest setting not above it.
    pub down: Option<Exact>,
    /// The least setting not below it.
    pub up: Option<Exact>,
}

/// The settings next to `flow`; `None`: the pump cannot run it.
#[must_use]
pub fn settings(pump: &Pump, flow: &Exact) -> Option<Settings> {
    let within = pump
        .flows
        .iter()
        .filter(|range| range.low <= *flow && *flow <= range.high);
    // Where ranges overlap, the finer step.
    let range = within.min_by(|one, other| match (&one.step, &other.step) {
        (None, None) => std::cmp::Ordering::Equal,
        (None, Some(_)) => std::cmp::Ordering::Less,
        (Some(_), None) => std::cmp::Ordering::Greater,
        (Some(one), Some(other)) => one.cmp(other),
    });
    match range {
        Some(range) => {
            let Some(step) = &range.step else {
                return Some(Settings {
                    down: Some(flow.clone()),
                    up: Some(flow.clone()),
                });
            };
            let down = floor_in(range, step, flow);
            let up = if down == *flow {
                Some(down.clone())
            } else {
                let next = &down + step;
                if next <= range.high {
                    Some(next)
                } else {
                    seam_above(pump, range).map(|above| above.low.clone())
                }
            };
            Some(Settings {
                down: Some(down),
                up,
            })
        }
        None => {
            let below = pump
                .flows
                .iter()
                .filter(|range| range.high < *flow)
                .max_by(|a, b| a.high.cmp(&b.high))?;
            let above = seam_above(pump, below).filter(|above| above.low > *flow)?;
            let down = match &below.step {
                Some(step) => floor_in(below, step, &below.high),
                None => below.high.clone(),
            };
            Some(Settings {
                down: Some(down),
                up: Some(above.low.clone()),
            })
        }
    }
}

fn floor_in(range: &PumpRange, step: &Exact, flow: &Exact) -> Exact {
    let count = (flow - &range.low)
        .checked_div(step)
        .map_or(Exact::ZERO, |count| count.floor());
    &range.low + &(&count * step)
}

/// The range above that a seam no wider than a step parts from this one.
fn seam_above<'a>(pump: &'a Pump, range: &PumpRange) -> Option<&'a PumpRange> {
    let above = pump
        .flows
        .iter()
        .filter(|other| other.low > range.high)
        .min_by(|a, b| a.low.cmp(&b.low))?;
    let widest = [&range.step, &above.step].into_iter().flatten().max()?;
    (&above.low - &range.high <= *widest).then_some(above)
}

/// Bounds on flow that rounding must not pass, at one patient.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bounds {
    /// Not above this.
    pub upper: Option<Exact>,
    /// Not below this.
    pub lower: Option<Exact>,
}

/// What the pump runs for an exact flow: rounded half up to its step; down
/// where rounding up would pass an upper bound that the exact flow keeps, up
/// where rounding down would pass a lower one. `None`: outside the pump.
#[must_use]
pub fn pump_flow(pump: &Pump, flow: &Exact, bounds: &Bounds) -> Option<Exact> {
    let Settings { down, up } = settings(pump, flow)?;
    let (down, up) = match (down, up) {
        (Some(down), Some(up)) => (down, up),
        (one, other) => return one.or(other),
    };
    let passes_upper = |value: &Exact| {
        bounds
            .upper
            .as_ref()
            .is_some_and(|upper| flow <= upper && value > upper)
    };
    let passes_lower = |value: &Exact| {
        bounds
            .lower
            .as_ref()
            .is_some_and(|lower| flow >= lower && value < lower)
    };
    let nearest_is_down = flow - &down < &up - flow;
    let choice = if nearest_is_down { &down } else { &up };
    if passes_upper(choice) {
        return Some(down);
    }
    if passes_lower(choice) && !passes_upper(&up) {
        return Some(up);
    }
    Some(choice.clone())
}

/// The bounds that rounding the flow of a run must not pass, as functions of
/// the patient.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FlowBounds {
    upper: Vec<(Vec<Stretch>, Curve)>,
    lower: Vec<(Vec<Stretch>, Curve)>,
}

impl FlowBounds {
    /// The cap, the ceilings and the `never` bounds of dose and flow that hold
    /// for a run.
    #[must_use]
    pub fn of(order: &Order, view: &View, phase: usize, run: &Run) -> Self {
        let mut bounds = Self::default();
        let everywhere = vec![Stretch {
            lo: view.patients.interval.lo().clone(),
            hi: view.patients.interval.hi().clone(),
            hi_excluded: false,
        }];
        if let Some(cap) = &run.flow_cap {
            bounds.upper.push((everywhere.clone(), cap.clone()));
        }
        for ceiling in ceilings(order, view, phase, CeilingOf::Runs).0 {
            bounds.upper.push((everywhere.clone(), ceiling.flow));
        }
        let of_rates = |bound: &&LimitBound| {
            !bound.usual && matches!(bound.measure, LimitMeasure::Dose | LimitMeasure::Flow)
        };
        for ingredient in &order.ingredients {
            for bound in ingredient.value.limits.iter().filter(of_rates) {
                let flow = flow_of_ingredient(order, view, (phase, run), ingredient, bound);
                bounds.push(bound, flow);
            }
        }
        let drug = order.drug.iter().flat_map(|drug| &drug.value.limits);
        for bound in drug.filter(of_rates) {
            bounds.push(bound, flow_of_limit(order, view, phase, run, bound));
        }
        bounds
    }

    fn push(&mut self, bound: &LimitBound, flow: Option<(Vec<Stretch>, Option<Curve>)>) {
        if let Some((over, Some(flow))) = flow {
            match bound.side {
                Side::High => self.upper.push((over, flow)),
                Side::Low => self.lower.push((over, flow)),
            }
        }
    }

    /// Every bound, as a flow.
    pub fn curves(&self) -> impl Iterator<Item = &Curve> {
        self.upper.iter().chain(&self.lower).map(|(_, flow)| flow)
    }

    /// Whether rounding a flow meets no bound as long as what it makes of it
    /// lies between these.
    #[must_use]
    pub fn are_clear_of(&self, low: &Exact, high: &Exact) -> bool {
        let above =
            |(_, flow): &(_, Curve)| flow.min_value().is_some_and(|least| *high <= least.value);
        let below =
            |(_, flow): &(_, Curve)| flow.max_value().is_some_and(|most| most.value <= *low);
        self.upper.iter().all(above) && self.lower.iter().all(below)
    }

    /// The bounds for one patient.
    #[must_use]
    pub fn at(&self, x: &Exact) -> Bounds {
        let values = |list: &[(Vec<Stretch>, Curve)]| {
            list.iter()
                .filter(|(over, _)| {
                    over.iter()
                        .any(|stretch| stretch.lo <= *x && *x <= stretch.hi)
                })
                .filter_map(|(_, curve)| curve.at(x))
                .collect::<Vec<_>>()
        };
        Bounds {
            upper: values(&self.upper).into_iter().min(),
            lower: values(&self.lower).into_iter().max(),
        }
    }
}

/// Why a pump cannot run a flow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outside {
    /// Slower than its slowest.
    Below,
    /// Faster than its fastest.
    Above,
    /// In a hole between two of its ranges.
    Between,
}

/// Where a flow lies outside what a pump can run.
#[must_use]
pub fn outside(pump: &Pump, flow: &Curve) -> Vec<(Outside, Exact, Vec<Region>)> {
    let mut found = Vec::new();
    let level = |value: &Exact| Curve::constant(flow.span().clone(), value.clone());
    let mut push = |why, bound: &Exact, regions: Option<Vec<Region>>| {
        if let Some(regions) = regions.filter(|regions| !regions.is_empty()) {
            found.push((why, bound.clone(), regions));
        }
    };
    let Some(lowest) = pump.flows.iter().map(|range| &range.low).min() else {
        return found;
    };
    push(Outside::Below, lowest, flow.where_below(&level(lowest)));
    let mut reach: Option<&PumpRange> = None;
    for range in &pump.flows {
        if let Some(before) = reach {
            let joined = range.low <= before.high
                || seam_above(pump, before).is_some_and(|above| above == range);
            if !joined {
                let above = flow.where_above(&level(&before.high));
                let below = flow.where_below(&level(&range.low));
                push(Outside::Between, &range.low, common(above, below));
            }
        }
        if reach.is_none_or(|before| range.high > before.high) {
            reach = Some(range);
        }
    }
    if let Some(fastest) = reach {
        push(
            Outside::Above,
            &fastest.high,
            flow.where_above(&level(&fastest.high)),
        );
    }
    found
}

/// What two lists of regions share.
fn common(one: Option<Vec<Region>>, other: Option<Vec<Region>>) -> Option<Vec<Region>> {
    let (one, other) = (one?, other?);
    let mut shared = Vec::new();
    for left in &one {
        for right in &other {
            let from = if left.from.x >= right.from.x {
                &left.from
            } else {
                &right.from
            };
            let to = if left.to.x <= right.to.x {
                &left.to
            } else {
                &right.to
            };
            if from.x < to.x || (from.x == to.x && from.included && to.included) {
                shared.push(Region {
                    from: from.clone(),
                    to: to.clone(),
                });
            }
        }
    }
    Some(shared)
}
