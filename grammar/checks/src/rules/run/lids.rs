//! Every lid (`at most …`) of an order, and what it is on.

use gutta_protocol::model::order::{Order, Preparation, WaySpec, WhatSpec};
use gutta_protocol::model::size::Size;

/// A lid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lid<'a> {
    /// In which phase.
    pub(crate) phase: usize,
    /// What it is on.
    pub(crate) of: LidOf,
    /// The size that it bounds.
    pub(crate) size: &'a Size,
    /// The lid itself.
    pub(crate) lid: &'a Size,
}

/// What a lid is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LidOf {
    /// The drug in the bag.
    Bag,
    /// A bolus.
    Bolus,
    /// How much a run gives.
    Amount {
        /// Whether the run is repeated.
        repeats: bool,
    },
    /// How fast a run gives it.
    Rate,
}

/// Every lid of the order.
pub(crate) fn lids(order: &Order) -> Vec<Lid<'_>> {
    let mut lids = Vec::new();
    for (phase, spec) in order.phases.iter().enumerate() {
        let mut push = |of, size, lid| {
            lids.push(Lid {
                phase,
                of,
                size,
                lid,
            });
        };
        if let Some(
            Preparation::MadeUpTo {
                drug,
                lid: Some(lid),
                ..
            }
            | Preparation::AddedTo {
                drug,
                lid: Some(lid),
                ..
            },
        ) = spec.bag.as_ref().map(|bag| &bag.how)
        {
            push(LidOf::Bag, drug, lid);
        }
        for bolus in &spec.boluses {
            if let Some(lid) = &bolus.lid {
                push(LidOf::Bolus, &bolus.size, lid);
            }
        }
        for run in &spec.runs {
            if let Some(WhatSpec::Size(size, Some(lid))) = &run.what {
                let repeats = run.every.is_some();
                push(LidOf::Amount { repeats }, size, lid);
            }
            for way in &run.ways {
                if let (WaySpec::At(rate), Some(lid)) = (way, &run.dose_lid) {
                    push(LidOf::Rate, rate, lid);
                }
            }
        }
    }
    lids
}
