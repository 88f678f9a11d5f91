//! What of a delivery is counted: fluid, the drug, a substance.

use gutta_quantity::Exact;

use super::{Delivery, Flush, Flushed, Piece, Pushed, Source};
use crate::curve::Curve;
use crate::derive::{View, brought};
use crate::model::drug::equivalence;
use crate::model::limit::Side;
use crate::model::order::{Named, Order, WhatSpec};
use crate::model::reference::Solution;
use crate::model::size::DrugKind;

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted<'a> {
    /// All fluid.
    Fluid,
    /// The order's drug, in the base units that its first bag counts it in.
    Drug,
    /// The drug, and what else there is of its substance, as a limit on this
    /// side counts it.
    Judged {
        /// Which side.
        side: Side,
        /// Whether it is a `usual`: that goes by what is on paper, a `never`
        /// by what is truly given.
        usual: bool,
    },
    /// A substance that drugs and solutions contain.
    Substance(&'a str, DrugKind),
    /// A substance in all its countings, each with what a base unit of it is in
    /// the one that is asked for.
    Ingredient(&'a str, &'a [(DrugKind, Exact)]),
}

impl Counted<'_> {
    /// Whether a lower bound asks: it counts on nothing that may not arrive.
    pub(super) const fn is_for_lower_bound(self) -> bool {
        matches!(
            self,
            Self::Judged {
                side: Side::Low,
                ..
            }
        )
    }
}

impl Delivery<'_> {
    /// How much of it a piece gives per volume; `None`: none.
    #[must_use]
    pub(crate) fn in_piece(&self, piece: &Piece, counted: Counted<'_>) -> Option<Curve> {
        match piece.source {
            Source::KeepOpenWith => {
                let phase = self.order.phases.get(piece.phase)?;
                let strength = self.in_solution(phase.kept_open_with(), counted)?;
                Some(self.view.patients.constant(strength))
            }
            Source::Bolus(_) => self.in_bag(piece.phase, counted, true),
            Source::Run(run) => self.in_bag(piece.phase, counted, self.is_stated(piece.phase, run)),
            Source::KeepOpen => self.in_bag(piece.phase, counted, false),
        }
    }

    /// How much of it a flush's fluid holds per volume; `None`: none.
    #[must_use]
    pub(crate) fn in_flush(&self, flush: &Flush, counted: Counted<'_>) -> Option<Exact> {
        let phase = self.order.phases.get(flush.phase)?;
        let (_, solution) = phase.flushes.get(flush.place)?;
        self.in_solution(solution.as_ref(), counted)
    }

    /// How much more of it what is pushed out of the line holds per volume than
    /// what takes its place; `None`: no more.
    #[must_use]
    pub(crate) fn in_pushed(&self, pushed: &Pushed, counted: Counted<'_>) -> Option<Curve> {
        if counted.is_for_lower_bound() || counted == Counted::Fluid {
            // A lower bound does not count on it. And fluid makes way for as
            // much of another.
            return None;
        }
        let out = self.strength_of_pushed(pushed, counted)?;
        let behind = pushed
            .behind
            .and_then(|phase| self.in_bag(phase, counted, false));
        match behind {
            None => Some(out),
            Some(behind) => {
                let more = out
                    .sub(&behind)?
                    .max(&self.view.patients.constant(Exact::ZERO))?;
                (more.is_constant() != Some(&Exact::ZERO)).then_some(more)
            }
        }
    }

    /// How much of it what is pushed out of the line holds per volume; `None`:
    /// none. What took its place before counts as given already: no more is to
    /// come than the weakest of them holds.
    #[must_use]
    pub(crate) fn strength_of_pushed(
        &self,
        pushed: &Pushed,
        counted: Counted<'_>,
    ) -> Option<Curve> {
        self.in_line(pushed.phase, &pushed.since, counted)
    }

    /// How much of it what a flush pushes out holds per volume; `None`: none.
    #[must_use]
    pub(crate) fn strength_of_flushed(
        &self,
        flushed: &Flushed,
        counted: Counted<'_>,
    ) -> Option<Curve> {
        self.in_line(flushed.phase, &flushed.since, counted)
    }

    fn in_line(&self, phase: usize, since: &[usize], counted: Counted<'_>) -> Option<Curve> {
        let mut strength = self.in_bag(phase, counted, false)?;
        for behind in since {
            strength = strength.min(&self.in_bag(*behind, counted, false)?)?;
        }
        Some(strength)
    }

    /// Whether a run's line states how much of the bag it gives: then the
    /// strength that is reckoned with says how much drug that is. `all` of it is
    /// all that is in it.
    fn is_stated(&self, phase: usize, run: usize) -> bool {
        let run = self.order.phases.get(phase).and_then(|of| of.runs.get(run));
        let what = run.and_then(|run| run.what.as_ref());
        matches!(what, Some(WhatSpec::Size(..)))
    }

    /// `as_stated`: of a volume that the order states, or an amount of the drug
    /// that was turned into one, by the strength that is reckoned with.
    fn in_bag(&self, phase: usize, counted: Counted<'_>, as_stated: bool) -> Option<Curve> {
        let (order, view) = (self.order, self.view);
        let bag = &view.phases.get(phase)?.bag;
        let named = order.drug.as_ref().map(|drug| &*drug.value);
        match counted {
            Counted::Fluid => Some(view.patients.constant(Exact::ONE)),
            Counted::Drug => {
                let drug = bag.drug.as_ref()?;
                let factor = equivalence(named, drug.kind, view.first_kind()?)?;
                Some(drug.true_strength.scale(&factor))
            }
            Counted::Judged { side, usual } => {
                let drug = bag.drug.as_ref()?;
                let factor = equivalence(named, drug.kind, view.first_kind()?)?;
                let own = match (usual, as_stated) {
                    (_, false) => drug.strength_of(true).clone(),
                    (true, true) => drug.strength_of(false).clone(),
                    (false, true) => drug.worse(side, false)?,
                };
                let strength = match view.besides(order, phase).counted(side) {
                    None => own,
                    Some(besides) => own.add(&besides)?,
                };
                Some(strength.scale(&factor))
            }
            Counted::Substance(name, kind) => {
                let contents = view.contents_of(order, phase, name)?;
                let mut alike = contents.into_iter().filter(|content| content.kind == kind);
                Some(alike.next()?.per_volume)
            }
            Counted::Ingredient(name, factors) => in_bag(order, view, phase, name, factors),
        }
    }

    fn in_solution(
        &self,
        solution: Option<&Named<Solution>>,
        counted: Counted<'_>,
    ) -> Option<Exact> {
        match counted {
            Counted::Fluid => Some(Exact::ONE),
            Counted::Drug => None,
            Counted::Judged { .. } => {
                let kind = self.view.first_kind()?;
                brought(self.order.drug.as_ref()?, solution?, kind)?.1
            }
            Counted::Substance(name, kind) => {
                let mut contents = solution?.value.contains.iter();
                let content =
                    contents.find(|content| content.substance == name && content.kind == kind)?;
                Some(content.strength.clone())
            }
            Counted::Ingredient(name, factors) => in_fluid(solution?, name, factors),
        }
    }
}

fn factor_of(factors: &[(DrugKind, Exact)], kind: DrugKind) -> Option<&Exact> {
    let mut factors = factors.iter();
    factors.find_map(|(of, factor)| (*of == kind).then_some(factor))
}

/// How much of a substance the bag of a phase holds per volume, its countings
/// brought together by these factors; `None`: none.
pub(crate) fn in_bag(
    order: &Order,
    view: &View,
    phase: usize,
    name: &str,
    factors: &[(DrugKind, Exact)],
) -> Option<Curve> {
    let mut sum: Option<Curve> = None;
    for content in view.contents_of(order, phase, name)? {
        if let Some(factor) = factor_of(factors, content.kind) {
            let share = content.per_volume.scale(factor);
            sum = Some(match sum {
                Some(sum) => sum.add(&share)?,
                None => share,
            });
        }
    }
    sum
}

/// How much of a substance a solution holds per volume, its countings brought
/// together by these factors; `None`: none.
#[must_use]
pub(crate) fn in_fluid(
    solution: &Named<Solution>,
    name: &str,
    factors: &[(DrugKind, Exact)],
) -> Option<Exact> {
    let contents = solution.value.contains.iter();
    let alike = contents.filter(|content| content.substance == name);
    let shares = alike.filter_map(|content| {
        let factor = factor_of(factors, content.kind)?;
        Some(&content.strength * factor)
    });
    shares.reduce(|one, other| &one + &other)
}
