//! Every flow of an order: at the start, at the ends of what may be adjusted,
//! of boluses, and of what keeps the vein open.

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, Values, View};
use gutta_protocol::model::order::Order;

use crate::beyond::{Beyond, furthest};

/// A flow, in one view.
#[derive(Clone, Debug)]
pub(crate) struct Flow {
    /// Which view.
    pub(crate) view: usize,
    /// Which phase.
    pub(crate) phase: usize,
    /// Of what.
    pub(crate) of: Flowing,
    /// At which setting.
    pub(crate) at: At,
    /// The line that sets it.
    pub(crate) span: Span,
    /// The exact flow.
    pub(crate) flow: Curve,
}

/// What flows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Flowing {
    /// A run, by its place in the phase.
    Run(usize),
    /// A bolus, by its place in the phase.
    Bolus(usize),
    /// What keeps the vein open.
    KeepOpen,
}

/// Every flow of the order, over all views.
pub(crate) fn flows(order: &Order, values: &Values) -> Vec<Flow> {
    let mut flows = Vec::new();
    for (view, derived) in values.views.iter().enumerate() {
        for phase in 0..derived.phases.len() {
            of_phase(order, derived, view, phase, &mut flows);
        }
    }
    flows
}

fn of_phase(order: &Order, derived: &View, view: usize, phase: usize, flows: &mut Vec<Flow>) {
    let Some(values) = derived.phases.get(phase) else {
        return;
    };
    let mut push = |of, at, span, flow| {
        flows.push(Flow {
            view,
            phase,
            of,
            at,
            span,
            flow,
        });
    };
    for (index, bolus) in values.boluses.iter().enumerate() {
        push(
            Flowing::Bolus(index),
            At::Start,
            bolus.span,
            bolus.flow.clone(),
        );
    }
    for (index, run) in values.runs.iter().enumerate() {
        push(Flowing::Run(index), At::Start, run.span, run.flow.clone());
        let Some(adjust) = derived.adjusted(order, phase, index) else {
            continue;
        };
        for at in [At::Low, At::High] {
            if let Some(flow) = derived.flow_of(order, phase, index, at) {
                push(Flowing::Run(index), at, adjust.span, flow);
            }
        }
    }
    if let Some(keep_open) = &values.keep_open {
        push(
            Flowing::KeepOpen,
            At::Start,
            keep_open.span,
            keep_open.flow.clone(),
        );
    }
}

impl Flow {
    /// What it is called in a sentence.
    pub(crate) fn subject(&self, order: &Order) -> String {
        let what = match (self.of, self.at) {
            (Flowing::Bolus(_), _) => "the flow of the bolus",
            (Flowing::KeepOpen, _) => "the keep-open flow",
            (Flowing::Run(_), At::Start) => "the flow",
            (Flowing::Run(_), At::Low) => "the flow at the lowest step",
            (Flowing::Run(_), At::High) => "the flow at the highest step",
        };
        let phase = order.phases.get(self.phase);
        match phase.and_then(|phase| phase.name.as_ref()) {
            Some(name) => format!("{what} in phase {name}"),
            None => what.to_owned(),
        }
    }
}

/// A flow beyond a bound.
#[derive(Clone, Debug)]
pub(crate) struct Passed<'a, K> {
    /// The flow.
    pub(crate) flow: &'a Flow,
    /// Which bound.
    pub(crate) bound: K,
    /// How far.
    pub(crate) beyond: Beyond,
}

/// Each flow held against its bounds: of each line and bound the one that lies
/// furthest beyond, and what a run does at its start not once more for what it
/// may be adjusted to. `same` tells two bounds from another.
pub(crate) fn beyond<'a, K>(
    flows: &'a [Flow],
    judge: impl Fn(&'a Flow) -> Vec<(K, Beyond)>,
    same: impl Fn(&K, &K) -> bool,
) -> Vec<Passed<'a, K>> {
    let passed = |flow: &'a Flow| {
        judge(flow).into_iter().map(move |(bound, beyond)| Passed {
            flow,
            bound,
            beyond,
        })
    };
    let (started, adjusted): (Vec<_>, Vec<_>) = flows
        .iter()
        .flat_map(passed)
        .partition(|passed| passed.flow.at == At::Start);
    let anew = adjusted
        .into_iter()
        .filter(|passed| {
            !started.iter().any(|start| {
                same(&start.bound, &passed.bound)
                    && start.flow.phase == passed.flow.phase
                    && start.flow.of == passed.flow.of
            })
        })
        .collect::<Vec<_>>();
    furthest(
        started.into_iter().chain(anew),
        |passed| &mut passed.beyond,
        |one, other| one.flow.span == other.flow.span && same(&one.bound, &other.bound),
    )
}
