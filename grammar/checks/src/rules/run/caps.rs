//! Every lid (`at most …`) of an order, and what it is on.

use gutta_protocol::model::order::{Order, Preparation, WaySpec, WhatSpec};
use gutta_protocol::model::size::Size;

/// A lid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cap<'a> {
    /// In which phase.
    pub(crate) phase: usize,
    /// What it is on.
    pub(crate) of: CapOf,
    /// The size that it bounds.
    pub(crate) size: &'a Size,
    /// The lid itself.
    pub(crate) cap: &'a Size,
}

/// What a lid is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CapOf {
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
pub(crate) fn caps(order: &Order) -> Vec<Cap<'_>> {
    let mut caps = Vec::new();
    for (phase, spec) in order.phases.iter().enumerate() {
        let mut push = |of, size, cap| {
            caps.push(Cap {
                phase,
                of,
                size,
                cap,
            });
        };
        if let Some(
            Preparation::MadeUpTo {
                drug,
                cap: Some(cap),
                ..
            }
            | Preparation::AddedTo {
                drug,
                cap: Some(cap),
                ..
            },
        ) = spec.bag.as_ref().map(|bag| &bag.how)
        {
            push(CapOf::Bag, drug, cap);
        }
        for bolus in &spec.boluses {
            if let Some(cap) = &bolus.cap {
                push(CapOf::Bolus, &bolus.size, cap);
            }
        }
        for run in &spec.runs {
            if let Some(WhatSpec::Size(size, Some(cap))) = &run.what {
                let repeats = run.every.is_some();
                push(CapOf::Amount { repeats }, size, cap);
            }
            for way in &run.ways {
                if let (WaySpec::At(rate), Some(cap)) = (way, &run.dose_cap) {
                    push(CapOf::Rate, rate, cap);
                }
            }
        }
    }
    caps
}
