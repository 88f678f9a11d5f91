//! A phase, carried out in the order written: what leaves the bag, and what
//! stays in it.

use gutta_notation::Span;

use super::bag::{Bag, Filling};
use super::run::{Bolus, Run, Setup};
use super::view::Patients;
use crate::curve::Curve;
use crate::model::lower::Lowering;
use crate::model::order::{Order, Phase as PhaseSpec, ThenSpec};
use crate::model::problem::ProblemKind;
use crate::model::size::Stuff;

/// What one phase does, over the patients of a view. Base units throughout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phase {
    /// The bag it runs from.
    pub bag: Bag,
    /// Whether it hung that bag itself.
    pub fresh: bool,
    /// In the bag when the phase begins.
    pub at_start: Curve,
    /// Purged, reaching nobody.
    pub prime: Option<Curve>,
    /// Boluses, in order.
    pub boluses: Vec<Bolus>,
    /// Runs, in order.
    pub runs: Vec<Run>,
    /// What happens, in the order written.
    pub sequence: Vec<Action>,
    /// Flushes: volume each.
    pub flushes: Vec<Curve>,
    /// In the bag after the last run; below zero where there was not enough.
    pub left: Curve,
    /// What keeps the vein open afterwards.
    pub keep_open: Option<KeepOpen>,
}

/// One thing that a phase does; the number is its place among its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// A bolus.
    Bolus(usize),
    /// A run.
    Run(usize),
}

/// What keeps the vein open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeepOpen {
    /// Its flow.
    pub flow: Curve,
    /// Drug per time, true, where it is the drug that runs.
    pub dose: Option<Curve>,
    /// The line.
    pub span: Span,
}

/// What the phases before left behind.
#[derive(Clone, Debug)]
pub(super) struct Hanging {
    pub(super) bag: Bag,
    pub(super) left: Curve,
}

/// Carries out a phase. `hanging` is the bag of the phase above and what is
/// left of it; afterwards it is this phase's.
pub(super) fn phase(
    order: &Order,
    patients: &Patients,
    index: usize,
    spec: &PhaseSpec,
    hanging: &mut Option<Hanging>,
    lowering: &mut Lowering,
) -> Option<Phase> {
    let fresh = spec.bag.is_some();
    if let Some(bag_spec) = &spec.bag {
        let bag = Filling {
            order,
            patients,
            phase: index,
            spec: bag_spec,
        }
        .fill(lowering)?;
        *hanging = Some(Hanging {
            left: bag.volume.clone(),
            bag,
        });
    }
    let Some(Hanging {
        bag,
        left: at_start,
    }) = hanging.clone()
    else {
        let drug = super::sizes::of_phase(spec)
            .into_iter()
            .find(|size| size.form.drug().is_some());
        match drug {
            Some(size) => lowering.problem(size.span, ProblemKind::NeedsStrength),
            None => lowering.problem(
                spec.span,
                ProblemKind::Missing {
                    what: "what is in the bag (`mix`, `premixed`, `hang` or `undiluted`)",
                },
            ),
        }
        return None;
    };
    let setup = Setup {
        order,
        phase: spec,
        patients,
        bag: &bag,
    };
    let mut left = at_start.clone();
    let prime = match &spec.prime {
        None => None,
        Some(prime) => {
            let prime = super::whole(patients, lowering, prime)?;
            left = left.sub(&prime)?;
            Some(prime)
        }
    };
    let mut sequence: Vec<(Span, Action)> = Vec::new();
    sequence.extend(
        spec.boluses
            .iter()
            .enumerate()
            .map(|(at, bolus)| (bolus.span, Action::Bolus(at))),
    );
    sequence.extend(
        spec.runs
            .iter()
            .enumerate()
            .map(|(at, run)| (run.span, Action::Run(at))),
    );
    sequence.sort_by_key(|(span, _)| *span);
    let (mut boluses, mut runs) = (Vec::new(), Vec::new());
    for (_, action) in &sequence {
        match *action {
            Action::Bolus(at) => {
                let bolus = setup.bolus(lowering, spec.boluses.get(at)?)?;
                left = left.sub(&bolus.volume)?;
                boluses.push(bolus);
            }
            Action::Run(at) => {
                let run = setup.run(lowering, spec.runs.get(at)?, at, &left)?;
                left = left.sub(&run.volume)?;
                runs.push(run);
            }
        }
    }
    let keep_open = match &spec.then {
        Some((ThenSpec::KeepOpen { rate, solution }, span)) => {
            let flow = if solution.is_some() && rate.form.stuff != Stuff::Volume {
                lowering.problem(
                    rate.span,
                    ProblemKind::WrongKind {
                        found: rate.unit.dimension().name(),
                        wanted: "a flow, with a solution",
                    },
                );
                return None;
            } else {
                setup.volume(lowering, rate)?
            };
            let dose = match (&bag.drug, solution) {
                (Some(drug), None) => flow.mul(&drug.true_strength),
                _ => None,
            };
            Some(KeepOpen {
                flow,
                dose,
                span: *span,
            })
        }
        _ => None,
    };
    let mut flushes = Vec::with_capacity(spec.flushes.len());
    for (volume, _) in &spec.flushes {
        flushes.push(super::whole(patients, lowering, volume)?);
    }
    *hanging = Some(Hanging {
        bag: bag.clone(),
        left: left.clone(),
    });
    Some(Phase {
        bag,
        fresh,
        at_start,
        prime,
        boluses,
        runs,
        sequence: sequence.into_iter().map(|(_, action)| action).collect(),
        flushes,
        left,
        keep_open,
    })
}
