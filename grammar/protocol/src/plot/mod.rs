//! The flow of a run over the patients, and the lines that it must keep to:
//! what a drawing of it needs, as exact numbers.
//!
//! Every face that draws takes its curves, its axes and what lies on them from
//! here, so that a screen and a printed sheet show the same. Flows are in mL/h
//! throughout, weights in kg, surfaces in m2. Nothing is rounded: who draws
//! brings [`Curve::strokes`] to its own paper.

mod axes;
mod bounds;

use gutta_notation::Span;
use gutta_quantity::{Exact, Unit, units};

pub use axes::{Axes, Axis};
pub use bounds::{Bound, BoundOf};

use crate::curve::Curve;
use crate::derive::{At, Run, Values, Variable, View};
use crate::model::order::Order;

/// The unit of every flow that is drawn.
pub const FLOW: Unit = units::ML_PER_H;

/// So many points inside a bent piece look smooth.
pub const SMOOTH: usize = 23;

/// The flow of one run over the patients of one view.
#[derive(Clone, Debug)]
pub struct Plot<'a> {
    /// Over whom.
    pub view: &'a View,
    /// Whether every view of the order has the very same: then this is the
    /// only one, and what stays the same in its view tells nothing.
    pub in_every_view: bool,
    /// The run's phase.
    pub phase: usize,
    /// The run's place in its phase.
    pub run: usize,
    /// The run's line.
    pub span: Span,
    /// The flow as it starts, in mL/h, by kg or m2.
    pub flow: Curve,
    /// The flow at the lowest and the highest setting that `adjust` allows.
    pub adjusted: Option<(Curve, Curve)>,
    /// What the flow must keep to, or usually keeps to.
    pub bounds: Vec<Bound>,
    /// What holds for this flow and could not be brought to one: it is to be
    /// named beside the drawing, which is silent of it.
    pub undrawn: Vec<BoundOf>,
}

impl<'a> Plot<'a> {
    /// One for each run and view, in the order of the text; none for a view
    /// that tells no two patients apart.
    #[must_use]
    pub fn all(order: &Order, values: &'a Values) -> Vec<Self> {
        let mut plots: Vec<Self> = Vec::new();
        for view in &values.views {
            if axis(view).is_none() || view.patients.interval.is_point() {
                continue;
            }
            let runs = view.runs();
            plots.extend(runs.map(|(phase, run)| Self::of(order, view, phase, run)));
        }
        plots.sort_by_key(|plot| (plot.phase, plot.run));
        let mut apart: Vec<Self> = Vec::with_capacity(plots.len());
        for run in plots.chunk_by(|one, other| (one.phase, one.run) == (other.phase, other.run)) {
            match run {
                [first, rest @ ..] if rest.iter().all(|other| first.draws_as(other)) => {
                    apart.push(Self {
                        in_every_view: true,
                        ..first.clone()
                    });
                }
                different => apart.extend_from_slice(different),
            }
        }
        apart
    }

    /// Whether the other would be the same drawing.
    fn draws_as(&self, other: &Self) -> bool {
        (&self.flow, &self.adjusted, &self.bounds, &self.undrawn)
            == (&other.flow, &other.adjusted, &other.bounds, &other.undrawn)
    }

    fn of(order: &Order, view: &'a View, phase: usize, run: &Run) -> Self {
        let at = |at| view.flow_of(order, phase, run.index, at);
        let adjusts = view.adjusted(order, phase, run.index);
        let adjusted = adjusts.and_then(|_| at(At::Low).zip(at(At::High)));
        let (bounds, undrawn) = bounds::of_run(order, view, phase, run);
        Self {
            view,
            in_every_view: false,
            phase,
            run: run.index,
            span: run.span,
            flow: in_ml_per_h(&run.flow),
            adjusted: adjusted.map(|(low, high)| (in_ml_per_h(&low), in_ml_per_h(&high))),
            bounds,
            undrawn,
        }
    }
}

/// What the patients of a view are told apart by, and its unit; `None` where
/// they are not.
#[must_use]
pub const fn axis(view: &View) -> Option<(&'static str, Unit)> {
    match view.patients.variable {
        Variable::Weight => Some(("weight", units::KG)),
        Variable::Surface => Some(("body surface area", units::M2)),
        Variable::Nothing => None,
    }
}

fn in_ml_per_h(flow: &Curve) -> Curve {
    let per_base = Exact::ONE.checked_div(&FLOW.factor());
    flow.scale(&per_base.unwrap_or_default())
}
