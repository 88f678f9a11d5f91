//! What part of the plane a drawing shows, and the round numbers beside it.

use gutta_quantity::Exact;

use super::{Bound, Plot};
use crate::curve::Curve;

/// The most round numbers along an axis, its ends not counted.
const MOST_ROUND: usize = 5;

/// One axis of a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Axis {
    /// Where it begins.
    pub from: Exact,
    /// Where it ends.
    pub to: Exact,
    /// The numbers that are written beside it, rising.
    pub marks: Vec<Exact>,
}

/// The axes of a drawing: patients across, flow upwards from nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Axes {
    /// Weights in kg, or surfaces in m2.
    pub across: Axis,
    /// Flows in mL/h.
    pub up: Axis,
}

impl Plot<'_> {
    /// Axes that show every flow whole, and those bounds that come near one:
    /// a far bound would leave of the flow a line along the floor.
    #[must_use]
    pub fn axes(&self) -> Axes {
        let interval = &self.view.patients.interval;
        let flows = std::iter::once(&self.flow);
        let adjusted = self.adjusted.iter().flat_map(|(low, high)| [low, high]);
        let fastest = flows.chain(adjusted).filter_map(most).max();
        let fastest = fastest.unwrap_or_default();
        let reach = &fastest * &Exact::int(2);
        let near = self.bounds.iter().flat_map(|bound| &bound.over);
        let near = near.filter_map(most).filter(|most| *most <= reach);
        let top = near.chain([fastest]).max().unwrap_or_default();
        Axes {
            across: Axis {
                from: interval.lo().clone(),
                to: interval.hi().clone(),
                marks: with_ends(interval.lo(), interval.hi()),
            },
            up: upwards(&top),
        }
    }
}

impl Axes {
    /// Whether some of the bound lies on the drawing; what does not is to be
    /// named beside it.
    #[must_use]
    pub fn show(&self, bound: &Bound) -> bool {
        let mut least = bound
            .over
            .iter()
            .filter_map(|curve| curve.min_value().map(|least| least.value));
        least.any(|least| least <= self.up.to)
    }
}

fn most(curve: &Curve) -> Option<Exact> {
    curve.max_value().map(|most| most.value)
}

/// From nothing to a round number not below `top`.
fn upwards(top: &Exact) -> Axis {
    let top = if top.is_positive() {
        top.clone()
    } else {
        Exact::ONE
    };
    let step = round_step(&top).unwrap_or_else(|| top.clone());
    let mut marks = vec![Exact::ZERO];
    let mut at = Exact::ZERO;
    while at < top {
        at = &at + &step;
        marks.push(at.clone());
    }
    Axis {
        from: Exact::ZERO,
        to: at,
        marks,
    }
}

/// Both ends, and the round numbers between that do not crowd them.
fn with_ends(low: &Exact, high: &Exact) -> Vec<Exact> {
    let room = &(high - low) * &Exact::ratio(1, 12).unwrap_or_default();
    let mut marks = vec![low.clone()];
    let between = round_between(low, high).into_iter();
    marks.extend(between.filter(|x| x - low >= room && high - x >= room));
    marks.push(high.clone());
    marks
}

/// A few round numbers strictly between two: multiples of 1, 2 or 5 times a
/// power of ten.
fn round_between(low: &Exact, high: &Exact) -> Vec<Exact> {
    let Some(step) = round_step(&(high - low)) else {
        return Vec::new();
    };
    let Some(first) = low.checked_div(&step) else {
        return Vec::new();
    };
    let mut at = &(&first.floor() + &Exact::ONE) * &step;
    let mut round = Vec::new();
    while at < *high && round.len() < MOST_ROUND {
        round.push(at.clone());
        at = &at + &step;
    }
    round
}

/// The least of 1, 2 or 5 times a power of ten that goes into a width only so
/// often.
fn round_step(width: &Exact) -> Option<Exact> {
    if !width.is_positive() {
        return None;
    }
    let most = Exact::int(1 + MOST_ROUND as i64);
    let steps = (-6..=6)
        .flat_map(|power| [1, 2, 5].map(|digit| &Exact::int(digit) * &Exact::ten_to(power)));
    steps
        .into_iter()
        .find(|step| width.checked_div(step).is_some_and(|count| count <= most))
}
