//! What follows from an order, as exact functions of the patient.

mod allowed;
mod bag;
mod besides;
mod contents;
mod life;
mod osmolarity;
pub mod osmoles;
mod phase;
mod run;
mod setting;
mod sizes;
mod view;

use gutta_notation::{Span, visible_line};
use gutta_quantity::Exact;

pub use allowed::{Disallowed, disallowed};
pub use bag::{Bag, DrugInBag};
pub(crate) use besides::brought;
pub use besides::{Besides, COMPANIONS, substance_of};
pub use contents::BagContent;
pub(crate) use contents::substances_in;
pub use life::{Life, Next, Renewal, Succession, day};
pub use osmolarity::Osmolarity;
pub use phase::{Action, KeepOpen, Phase};
pub use run::{Bolus, Disagreement, Run, Setting};
pub use setting::At;
pub use view::{Patients, Variable};

use crate::curve::Curve;
use crate::model::lower::Lowering;
use crate::model::order::Order;
use crate::model::problem::{Problem, ProblemKind};
use crate::model::size::{Per, Size};

/// All that follows from an order that is complete.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Values {
    /// One or more ways through its patients; never empty.
    pub views: Vec<View>,
}

/// What follows from an order, over the patients of one view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct View {
    /// Whom it covers.
    pub patients: Patients,
    /// Its phases, in order, as many as the order has.
    pub phases: Vec<Phase>,
}

impl View {
    /// Every run, with the phase it belongs to.
    pub fn runs(&self) -> impl Iterator<Item = (usize, &Run)> {
        let phases = self.phases.iter().enumerate();
        phases.flat_map(|(phase, derived)| derived.runs.iter().map(move |run| (phase, run)))
    }

    /// A phase that hangs a bag, and those that go on with it, with their places.
    pub fn sharing(&self, hung: usize) -> impl Iterator<Item = (usize, &Phase)> {
        let phases = self.phases.iter().enumerate();
        phases.filter(move |(_, phase)| phase.bag.phase == hung)
    }

    /// Every bolus, with the phase it belongs to.
    pub fn boluses(&self) -> impl Iterator<Item = (usize, &Bolus)> {
        let phases = self.phases.iter().enumerate();
        phases.flat_map(|(phase, derived)| derived.boluses.iter().map(move |bolus| (phase, bolus)))
    }

    /// Every phase that hangs a bag of its own, with its place.
    pub fn bags(&self) -> impl Iterator<Item = (usize, &Phase)> {
        let phases = self.phases.iter().enumerate();
        phases.filter(|(_, phase)| phase.fresh)
    }
}

/// Why nothing is derived from an order. Never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incomplete {
    /// What stands in the way.
    pub problems: Vec<Problem>,
}

impl Incomplete {
    /// What stands in the way, in words, each once. `line` gives the line in
    /// the file of a span of the order.
    #[must_use]
    pub fn told(&self, line: impl Fn(Span) -> usize) -> Vec<String> {
        let mut told = Vec::new();
        for problem in &self.problems {
            let what = problem.kind.told(line(problem.span));
            let what = visible_line(&what).into_owned();
            if !told.contains(&what) {
                told.push(what);
            }
        }
        told
    }
}

/// One patient, where only that one is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Patient {
    /// Body weight in kg.
    pub weight: Option<Exact>,
    /// Body surface in m2.
    pub surface: Option<Exact>,
}

/// Derives all values of an order over its whole range of patients, or for
/// one patient.
///
/// # Errors
///
/// If any line of the order was not read, any name has no meaning, or a value
/// cannot be computed: then nothing is derived at all.
pub fn derive(order: &Order, patient: &Patient) -> Result<Values, Incomplete> {
    let mut lowering = Lowering::default();
    lowering.problems.clone_from(&order.problems);
    let mut views = Vec::with_capacity(1);
    if lowering.problems.is_empty() {
        check_frame(order, &mut lowering);
        for patients in Patients::of(order, patient.weight.as_ref(), patient.surface.as_ref()) {
            views.extend(view(order, patients, &mut lowering));
        }
        if views.is_empty() && lowering.problems.is_empty() {
            lowering.problem(
                order.header,
                ProblemKind::NotComputable { what: "the order" },
            );
        }
    }
    let mut problems = lowering.problems;
    if problems.is_empty() {
        return Ok(Values { views });
    }
    // Two views meet the same problems.
    let mut seen = Vec::with_capacity(problems.len());
    problems.retain(|problem| {
        let fresh = !seen.contains(problem);
        if fresh {
            seen.push(problem.clone());
        }
        fresh
    });
    Err(Incomplete { problems })
}

/// What an order needs before anything can be derived from it.
fn check_frame(order: &Order, lowering: &mut Lowering) {
    for (extent, stated) in [
        (&order.weight, order.states.weight),
        (&order.surface, order.states.surface),
    ] {
        if let Some(extent) = extent {
            let span = stated.unwrap_or(order.header);
            if extent.low.is_none() || extent.high.is_none() {
                lowering.problem(
                    span,
                    ProblemKind::Missing {
                        what: "an end of the range of patients (the area does not state it either)",
                    },
                );
            }
        }
    }
    let gives = order
        .phases
        .iter()
        .any(|phase| !phase.runs.is_empty() || !phase.boluses.is_empty());
    if !gives {
        lowering.problem(
            order.header,
            ProblemKind::Missing {
                what: "a `run` or a `bolus`",
            },
        );
    }
    let drug_amounts = order
        .phases
        .iter()
        .filter_map(|phase| phase.bag.as_ref())
        .find(|bag| {
            use crate::model::order::Preparation as Prepared;
            !matches!(bag.how, Prepared::Fluid { .. })
        });
    if let (Some(bag), None) = (drug_amounts, &order.drug) {
        lowering.problem(bag.span, ProblemKind::Missing { what: "the `drug`" });
    }
}

fn view(order: &Order, patients: Patients, lowering: &mut Lowering) -> Option<View> {
    let mut phases = Vec::with_capacity(order.phases.len());
    let mut hanging = None;
    for (index, spec) in order.phases.iter().enumerate() {
        phases.push(phase::phase(
            order,
            &patients,
            index,
            spec,
            &mut hanging,
            lowering,
        )?);
    }
    Some(View { patients, phases })
}

/// A size for the whole patient; a problem where the patient is not known.
fn whole(patients: &Patients, lowering: &mut Lowering, size: &Size) -> Option<Curve> {
    let whole = patients.whole(size);
    if whole.is_none() {
        let kind = match size.form.per {
            Per::Surface => ProblemKind::NeedsSurface,
            Per::Weight | Per::Patient => ProblemKind::NeedsWeight,
        };
        lowering.problem(size.span, kind);
    }
    whole
}
