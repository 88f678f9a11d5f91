//! What the flow of a run must keep to, brought to a flow.

use gutta_notation::ast::LimitMeasure;

use super::in_ml_per_h;
use crate::curve::Curve;
use crate::derive::{Run, View};
use crate::limits::{
    Ceiling, CeilingOf, Reader, Stretch, ceilings, flow_of_ingredient, flow_of_limit, states_loads,
};
use crate::model::limit::{LimitBound, Side};
use crate::model::order::{Named, Order};
use crate::model::reference::Pump;
use crate::model::size::Size;
use crate::{StanzaId, Workspace};

/// A bound on a flow, over the patients for whom it holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    /// What it comes from.
    pub of: BoundOf,
    /// On which side of it the flow is kept.
    pub side: Side,
    /// Where it lies, in mL/h: one curve for each stretch of patients.
    pub over: Vec<Curve>,
}

/// What a bound comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BoundOf {
    /// A `usual` or `never` of a drug or an ingredient, with its stanza.
    Limit(StanzaId, Box<LimitBound>),
    /// The ceiling of the order, or of an area.
    Ceiling(Size, Option<StanzaId>),
    /// The run's own cap on the dose.
    Cap(Size),
    /// The slowest or fastest that a pump runs.
    Pump(StanzaId),
}

impl Bound {
    /// Whether it forbids, rather than tells what is usual.
    #[must_use]
    pub fn forbids(&self) -> bool {
        !matches!(&self.of, BoundOf::Limit(_, bound) if bound.usual)
    }
}

impl BoundOf {
    /// As the author wrote it: `never dose above 2 mcg/kg/min`, `ceiling
    /// 40 mL/h`, `at most 10 mcg/min`; of a pump its name.
    #[must_use]
    pub fn told(&self, workspace: &Workspace, order: &Order) -> String {
        let written = |id, span| {
            let text = workspace.text_at(workspace.place(id, span));
            text.split_whitespace().collect::<Vec<_>>().join(" ")
        };
        match self {
            Self::Limit(drug, bound) => written(*drug, bound.span),
            Self::Ceiling(size, area) => {
                format!("ceiling {}", written(area.unwrap_or(order.id), size.span))
            }
            Self::Cap(size) => format!("at most {}", written(order.id, size.span)),
            Self::Pump(pump) => format!("pump {}", name(workspace, *pump)),
        }
    }

    /// The name of the drug, ingredient or area that states it; `None`: the order's own,
    /// or a pump.
    #[must_use]
    pub fn whose<'w>(&self, workspace: &'w Workspace) -> Option<&'w str> {
        match self {
            Self::Limit(id, _) | Self::Ceiling(_, Some(id)) => Some(name(workspace, *id)),
            Self::Ceiling(_, None) | Self::Cap(_) | Self::Pump(_) => None,
        }
    }
}

fn name(workspace: &Workspace, id: StanzaId) -> &str {
    let name = workspace.stanza(id).name.as_ref();
    name.map_or("", |name| name.value.as_str())
}

/// Every bound on the flow of a run, and what could not be brought to a flow.
pub(super) fn of_run(
    order: &Order,
    view: &View,
    phase: usize,
    run: &Run,
) -> (Vec<Bound>, Vec<BoundOf>) {
    let (mut bounds, mut undrawn) = (Vec::new(), Vec::new());
    let everywhere = |of, side, flow: &Curve| Bound {
        of,
        side,
        over: vec![in_ml_per_h(flow)],
    };
    let spec = order.phases.get(phase);
    let cap = spec.and_then(|spec| spec.runs.get(run.index)?.dose_cap.as_ref());
    if let (Some(size), Some(flow)) = (cap, &run.flow_cap) {
        bounds.push(everywhere(BoundOf::Cap(size.clone()), Side::High, flow));
    }
    let (known, unknown) = ceilings(order, view, phase, CeilingOf::Runs);
    bounds.extend(known.iter().map(|Ceiling { flow, size, area }| {
        everywhere(BoundOf::Ceiling(size.clone(), *area), Side::High, flow)
    }));
    let unknown = unknown.into_iter();
    undrawn.extend(unknown.map(|(size, area)| BoundOf::Ceiling(size, area)));
    of_drug(order, view, phase, run, &mut bounds, &mut undrawn);
    of_ingredients(order, view, (phase, run), &mut bounds, &mut undrawn);
    if let Some(pump) = spec.and_then(|spec| spec.pump.as_ref()) {
        bounds.extend(of_pump(view, pump));
    }
    (bounds, undrawn)
}

/// A drug's limits on dose and flow (on the rate of a load, too), as far as
/// they judge this run.
fn of_drug(
    order: &Order,
    view: &View,
    phase: usize,
    run: &Run,
    bounds: &mut Vec<Bound>,
    undrawn: &mut Vec<BoundOf>,
) {
    let Some(drug) = &order.drug else { return };
    let limits = &drug.value.limits;
    let reader = Reader::new(order, view);
    let loads_too = !states_loads(limits);
    let rates = limits.iter().filter(|bound| {
        use LimitMeasure::{BolusRate, Dose, Flow};
        matches!(bound.measure, Dose | Flow | BolusRate)
    });
    for bound in rates {
        let readings = reader.readings(bound, loads_too);
        let judges = |(of_phase, of_run): (usize, Option<usize>)| {
            of_phase == phase && of_run == Some(run.index)
        };
        if !readings
            .iter()
            .any(|reading| judges((reading.phase, reading.run)))
        {
            continue;
        }
        let Some((over, flow)) = flow_of_limit(order, view, phase, run, bound) else {
            continue;
        };
        let of = BoundOf::Limit(drug.id, Box::new(bound.clone()));
        match flow {
            Some(flow) => bounds.push(drawn(of, bound.side, &over, &flow)),
            None => undrawn.push(of),
        }
    }
}

/// The limits on the rate of what the run brings besides.
fn of_ingredients(
    order: &Order,
    view: &View,
    run: (usize, &Run),
    bounds: &mut Vec<Bound>,
    undrawn: &mut Vec<BoundOf>,
) {
    for ingredient in &order.ingredients {
        let limits = ingredient.value.limits.iter();
        for bound in limits.filter(|bound| bound.measure == LimitMeasure::Dose) {
            let of = BoundOf::Limit(ingredient.id, Box::new(bound.clone()));
            match flow_of_ingredient(order, view, run, ingredient, bound) {
                Some((over, Some(flow))) => bounds.push(drawn(of, bound.side, &over, &flow)),
                Some((_, None)) => undrawn.push(of),
                None => {}
            }
        }
    }
}

fn drawn(of: BoundOf, side: Side, over: &[Stretch], flow: &Curve) -> Bound {
    let flow = in_ml_per_h(flow);
    let over = over.iter();
    let over = over.filter_map(|stretch| flow.restrict(&stretch.interval()?));
    Bound {
        of,
        side,
        over: over.collect(),
    }
}

/// The slowest and the fastest that the pump runs.
fn of_pump(view: &View, pump: &Named<Pump>) -> Vec<Bound> {
    let flows = &pump.value.flows;
    let slowest = flows.iter().map(|range| &range.low).min();
    let fastest = flows.iter().map(|range| &range.high).max();
    let ends = [(slowest, Side::Low), (fastest, Side::High)].into_iter();
    let bound = |(flow, side): (Option<&gutta_quantity::Exact>, _)| {
        Some(Bound {
            of: BoundOf::Pump(pump.id),
            side,
            over: vec![in_ml_per_h(&view.patients.constant(flow?.clone()))],
        })
    };
    ends.filter_map(bound).collect()
}
