//! Every size that an order's lines state.

use crate::model::order::{BolusWay, Phase, Preparation, StepsSpec, ThenSpec, WaySpec, WhatSpec};
use crate::model::size::Size;

/// The sizes that a phase's lines state, in no particular order.
pub(crate) fn of_phase(phase: &Phase) -> Vec<&Size> {
    let mut sizes: Vec<&Size> = Vec::new();
    if let Some(bag) = &phase.bag {
        match &bag.how {
            Preparation::MadeUpTo { drug, cap, volume } => {
                sizes.extend([drug, volume]);
                sizes.extend(cap);
            }
            Preparation::AddedTo {
                drug,
                cap,
                volume,
                counted_as,
            } => {
                sizes.extend([drug, volume]);
                sizes.extend(cap);
                sizes.extend(counted_as);
            }
            Preparation::Premixed { amount, volume } => sizes.extend([amount, volume]),
            Preparation::PremixedStrength { volume, .. }
            | Preparation::Fluid { volume }
            | Preparation::Undiluted { volume } => sizes.push(volume),
        }
    }
    sizes.extend(&phase.prime);
    for bolus in &phase.boluses {
        sizes.push(&bolus.size);
        sizes.extend(&bolus.cap);
        if let BolusWay::At(rate) = &bolus.way {
            sizes.push(rate);
        }
    }
    for run in &phase.runs {
        if let Some(WhatSpec::Size(size, cap)) = &run.what {
            sizes.push(size);
            sizes.extend(cap);
        }
        sizes.extend(run.ways.iter().filter_map(|way| match way {
            WaySpec::At(rate) => Some(rate),
            WaySpec::Over(_) => None,
        }));
        sizes.extend(&run.dose_cap);
    }
    match phase.adjust.as_ref().map(|adjust| &adjust.steps) {
        Some(StepsSpec::By { low, high, step }) => sizes.extend([low, high, step]),
        Some(StepsSpec::List(list)) => sizes.extend(list),
        None => {}
    }
    sizes.extend(phase.flushes.iter().map(|(volume, _)| volume));
    sizes.extend(&phase.ceiling);
    sizes.extend(&phase.bolus_ceiling);
    if let Some((ThenSpec::KeepOpen { rate, .. }, _)) = &phase.then {
        sizes.push(rate);
    }
    sizes
}
