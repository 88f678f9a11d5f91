//! An order, its names resolved and its values judged.

use gutta_notation::ast::{ExpectMeasure, Route};
use gutta_notation::{Span, Spanned};
use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::drug::Drug;
use super::ingredient::Ingredient;
pub use super::named::Named;
use super::problem::Problem;
use super::reference::{Area, ContainedSubstance, GivingSet, Pump, Solution};
pub use super::run::{
    AdjustSpec, Again, EverySpec, RunSpec, StepsSpec, ThenSpec, WaySpec, WhatSpec,
};
use super::size::{Extent, Scalar, Size};
use crate::StanzaId;

/// A line that names a thing, or says on purpose that it does not matter, or
/// is not there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Answer<T> {
    /// Named.
    Is(T),
    /// `any`.
    Any(Span),
    /// Not stated.
    #[default]
    Unanswered,
}

impl<T> Answer<T> {
    /// What was named.
    pub const fn named(&self) -> Option<&T> {
        match self {
            Self::Is(named) => Some(named),
            Self::Any(_) | Self::Unanswered => None,
        }
    }
}

/// An order or specimen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// Its stanza.
    pub id: StanzaId,
    /// Its name.
    pub name: SmolStr,
    /// The header line.
    pub header: Span,
    /// Whether it is a specimen.
    pub specimen: bool,
    /// Its drug; `None`: a plain fluid.
    pub drug: Option<Named<Drug>>,
    /// What limits the substances that it brings, whatever brings them.
    pub ingredients: Vec<Named<Ingredient>>,
    /// Its area.
    pub area: Answer<Named<Area>>,
    /// Every area in scope, for an order that names none: the strictest holds.
    pub areas_in_scope: Vec<Named<Area>>,
    /// Body weights in kg, missing ends filled from the area.
    pub weight: Option<Extent>,
    /// Body surfaces in m2, likewise.
    pub surface: Option<Extent>,
    /// Ages in base units of time, likewise.
    pub age: Option<Extent>,
    /// Which of weight, surface and age the order itself states.
    pub states: States,
    /// The body weight beyond which the dose does not grow, in kg.
    pub dosing_weight: Option<(Exact, Span)>,
    /// Whether it says that it is high-alert, or its drug does.
    pub high_alert: bool,
    /// What happens, in order; at least one.
    pub phases: Vec<Phase>,
    /// Worked examples.
    pub expects: Vec<Expectation>,
    /// What stands in the way of its meaning. Not empty: nothing is derived.
    pub problems: Vec<Problem>,
}

impl Order {
    /// The solutions that it names: in its bags, in its flushes, and to keep
    /// the vein open with; each may stand several times.
    pub fn solutions(&self) -> impl Iterator<Item = &Named<Solution>> {
        self.phases.iter().flat_map(|phase| {
            let bag = phase.bag.iter().flat_map(|bag| &bag.solution);
            bag.chain(phase.beside_the_bag())
        })
    }

    /// What its drug and its solutions contain.
    pub fn contents(&self) -> impl Iterator<Item = &ContainedSubstance> {
        let of_drug = self.drug.iter().flat_map(|drug| &drug.value.contains);
        let of_solutions = self.solutions();
        of_drug.chain(of_solutions.flat_map(|solution| &solution.value.contains))
    }

    /// Whether more follows from a run, by its phase and place there.
    #[must_use]
    pub fn again(&self, phase: usize, run: usize) -> Again {
        let spec = self.phases.get(phase).and_then(|of| of.runs.get(run));
        match spec {
            Some(spec) if spec.repeats().is_some() => Again::Repeated,
            Some(_) if self.is_renewed(phase, run) => Again::Renewed,
            _ => Again::Once,
        }
    }

    /// Whether the bag of a run is renewed when it is empty: the last run of
    /// the order's last phase is.
    #[must_use]
    pub(crate) fn is_renewed(&self, phase: usize, run: usize) -> bool {
        self.phases.get(phase).is_some_and(|spec| {
            let renews = matches!(&spec.then, Some((ThenSpec::Renew(_), _)));
            renews && phase + 1 == self.phases.len() && run + 1 == spec.runs.len()
        })
    }
}

/// Which patient lines an order states itself; a place each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct States {
    /// `patient weight`.
    pub weight: Option<Span>,
    /// `patient surface`.
    pub surface: Option<Span>,
    /// `patient age`.
    pub age: Option<Span>,
}

/// A phase. An order without phases has one, unnamed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phase {
    /// Its name; `None`: the order has no phases.
    pub name: Option<SmolStr>,
    /// Its heading, else the order's.
    pub span: Span,
    /// The bag it hangs itself; `None`: it goes on with the bag above.
    pub bag: Option<BagSpec>,
    /// Purging of the line.
    pub prime: Option<Size>,
    /// Boluses, in order.
    pub boluses: Vec<BolusSpec>,
    /// Runs, in order.
    pub runs: Vec<RunSpec>,
    /// Permission to change the setting.
    pub adjust: Option<AdjustSpec>,
    /// Flushes, in order.
    pub flushes: Vec<(Size, Option<Named<Solution>>)>,
    /// The order's own ceiling.
    pub ceiling: Option<Size>,
    /// The order's own bolus ceiling.
    pub bolus_ceiling: Option<Size>,
    /// What follows.
    pub then: Option<(ThenSpec, Span)>,
    /// The longest a bag may hang, as ordered.
    pub change_bag: Option<Scalar>,
    /// The route.
    pub route: Answer<Spanned<Route>>,
    /// The pump.
    pub pump: Option<Named<Pump>>,
    /// The giving set.
    pub giving_set: Option<Named<GivingSet>>,
    /// The purpose.
    pub purpose: Option<Spanned<SmolStr>>,
}

impl Phase {
    /// What flows beside the bag: what flushes, and what keeps the vein open.
    pub fn beside_the_bag(&self) -> impl Iterator<Item = &Named<Solution>> {
        let flushed = self.flushes.iter().flat_map(|(_, with)| with);
        flushed.chain(self.kept_open_with())
    }

    /// The fluid that keeps the vein open, where it is another than the bag's.
    #[must_use]
    pub const fn kept_open_with(&self) -> Option<&Named<Solution>> {
        match &self.then {
            Some((ThenSpec::KeepOpen { solution, .. }, _)) => solution.as_ref(),
            Some((ThenSpec::Stop | ThenSpec::Renew(_), _)) | None => None,
        }
    }

    /// Whether the whole phase is a load.
    #[must_use]
    pub fn is_loading(&self) -> bool {
        self.purpose
            .as_ref()
            .is_some_and(|purpose| purpose.value == "loading")
    }
}

/// What is in a bag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BagSpec {
    /// The line.
    pub span: Span,
    /// How it is prepared.
    pub how: Preparation,
    /// The diluent or fluid.
    pub solution: Option<Named<Solution>>,
}

/// How a bag is prepared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Preparation {
    /// The drug, made up to a final volume.
    MadeUpTo {
        /// The drug: an amount, or a volume of it as supplied.
        drug: Size,
        /// The cap on it.
        cap: Option<Size>,
        /// The final volume.
        volume: Size,
    },
    /// The drug, added to a volume.
    AddedTo {
        /// The drug: an amount, or a volume of it as supplied.
        drug: Size,
        /// The cap on it.
        cap: Option<Size>,
        /// The diluent's volume.
        volume: Size,
        /// The volume that strength and flow are reckoned by.
        counted_as: Option<Size>,
    },
    /// As bought, by amount.
    Premixed {
        /// The drug in it.
        amount: Size,
        /// The volume.
        volume: Size,
    },
    /// As bought, by strength.
    PremixedStrength {
        /// Drug per volume, base units.
        strength: Exact,
        /// In what the drug is counted.
        kind: super::size::DrugKind,
        /// The volume.
        volume: Size,
    },
    /// A plain fluid.
    Fluid {
        /// The volume.
        volume: Size,
    },
    /// The drug as supplied.
    Undiluted {
        /// The volume.
        volume: Size,
    },
}

/// A bolus.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BolusSpec {
    /// The line.
    pub span: Span,
    /// How much.
    pub size: Size,
    /// The cap on it.
    pub cap: Option<Size>,
    /// How fast.
    pub way: BolusWay,
    /// Whether it is given with every repetition.
    pub each_time: bool,
}

/// How fast a bolus goes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BolusWay {
    /// Over a time.
    Over(Scalar),
    /// At a rate of volume or drug.
    At(Size),
}

/// A worked example.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expectation {
    /// The line.
    pub span: Span,
    /// What is measured.
    pub measure: Spanned<ExpectMeasure>,
    /// The value, in base units of its dimension.
    pub value: gutta_quantity::Quantity,
    /// Decimals written: the value is compared at the last of them.
    pub decimals: u8,
    /// Where the value stands.
    pub value_span: Span,
    /// Whether `per day`.
    pub per_day: bool,
    /// At which weight in kg.
    pub weight: Option<Exact>,
    /// At which surface in m2.
    pub surface: Option<Exact>,
    /// At which setting.
    pub dose: Option<Size>,
    /// In which phase.
    pub phase: Option<Spanned<SmolStr>>,
}
