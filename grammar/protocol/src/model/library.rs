//! Every reference stanza of a workspace, judged once and shared.

use std::sync::Arc;

use gutta_notation::StanzaKind;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::drug::Drug;
use super::drug::Ties;
use super::ingredient::{self, Ingredient};
use super::limit::LimitBound;
use super::reference::{self, Area, GivingSet, Pump, Solution};
use super::set::Set;
use crate::{Change, StanzaId, Workspace};

/// The reference stanzas of a workspace.
#[derive(Clone, Debug, Default)]
pub struct Library {
    drugs: FxHashMap<StanzaId, Arc<Drug>>,
    areas: FxHashMap<StanzaId, Arc<Area>>,
    pumps: FxHashMap<StanzaId, Arc<Pump>>,
    giving_sets: FxHashMap<StanzaId, Arc<GivingSet>>,
    solutions: FxHashMap<StanzaId, Arc<Solution>>,
    ingredients: FxHashMap<StanzaId, Arc<Ingredient>>,
    sets: FxHashMap<StanzaId, Arc<Set>>,
}

fn all<T: Send + Sync>(
    workspace: &Workspace,
    kind: StanzaKind,
    lower: fn(&gutta_notation::Stanza) -> T,
) -> FxHashMap<StanzaId, Arc<T>> {
    let ids: Vec<_> = workspace.stanzas_of(kind).collect();
    ids.into_par_iter()
        .map(|id| (id, Arc::new(lower(workspace.stanza(id)))))
        .collect()
}

fn follow<T>(
    held: &mut FxHashMap<StanzaId, Arc<T>>,
    workspace: &Workspace,
    change: &Change,
    kind: StanzaKind,
    lower: fn(&gutta_notation::Stanza) -> T,
) {
    let file = change.file;
    let end = change.first + change.before;
    for index in change.first..end {
        held.remove(&StanzaId { file, index });
    }
    if change.before != change.after {
        let moved: Vec<_> = held
            .extract_if(|id, _| id.file == file && id.index >= end)
            .collect();
        held.extend(moved.into_iter().map(|(id, judged)| {
            let index = id.index - change.before + change.after;
            (StanzaId { file, index }, judged)
        }));
    }
    for index in change.first..change.first + change.after {
        let id = StanzaId { file, index };
        let stanza = workspace.stanza(id);
        if stanza.kind == kind {
            held.insert(id, Arc::new(lower(stanza)));
        }
    }
}

impl Library {
    /// Judges every reference stanza of the workspace.
    #[must_use]
    pub fn new(workspace: &Workspace) -> Self {
        Self {
            drugs: all(workspace, StanzaKind::Drug, super::drug::drug),
            areas: all(workspace, StanzaKind::Area, reference::area),
            pumps: all(workspace, StanzaKind::Pump, reference::pump),
            giving_sets: all(workspace, StanzaKind::GivingSet, reference::giving_set),
            solutions: all(workspace, StanzaKind::Solution, reference::solution),
            ingredients: all(workspace, StanzaKind::Ingredient, ingredient::ingredient),
            sets: all(workspace, StanzaKind::Set, super::set::set),
        }
    }

    /// Follows a change of one file: its new stanzas are judged, what stands
    /// behind them moves, and the rest stays.
    pub fn follow(&mut self, workspace: &Workspace, change: &Change) {
        use StanzaKind as Kind;
        let (at, by) = (workspace, change);
        follow(&mut self.drugs, at, by, Kind::Drug, super::drug::drug);
        follow(&mut self.areas, at, by, Kind::Area, reference::area);
        follow(&mut self.pumps, at, by, Kind::Pump, reference::pump);
        let set = reference::giving_set;
        follow(&mut self.giving_sets, at, by, Kind::GivingSet, set);
        let solution = reference::solution;
        follow(&mut self.solutions, at, by, Kind::Solution, solution);
        let ingredient = ingredient::ingredient;
        follow(&mut self.ingredients, at, by, Kind::Ingredient, ingredient);
        follow(&mut self.sets, at, by, Kind::Set, super::set::set);
    }

    /// The drug of this stanza.
    #[must_use]
    pub fn drug(&self, id: StanzaId) -> Option<&Arc<Drug>> {
        self.drugs.get(&id)
    }

    /// The area of this stanza.
    #[must_use]
    pub fn area(&self, id: StanzaId) -> Option<&Arc<Area>> {
        self.areas.get(&id)
    }

    /// The pump of this stanza.
    #[must_use]
    pub fn pump(&self, id: StanzaId) -> Option<&Arc<Pump>> {
        self.pumps.get(&id)
    }

    /// The giving set of this stanza.
    #[must_use]
    pub fn giving_set(&self, id: StanzaId) -> Option<&Arc<GivingSet>> {
        self.giving_sets.get(&id)
    }

    /// The solution of this stanza.
    #[must_use]
    pub fn solution(&self, id: StanzaId) -> Option<&Arc<Solution>> {
        self.solutions.get(&id)
    }

    /// The ingredient of this stanza.
    #[must_use]
    pub fn ingredient(&self, id: StanzaId) -> Option<&Arc<Ingredient>> {
        self.ingredients.get(&id)
    }

    /// The limits of this stanza, a drug's or an ingredient's.
    #[must_use]
    pub fn limits(&self, id: StanzaId) -> Option<&[LimitBound]> {
        let of_drug = self.drug(id).map(|drug| drug.limits.as_slice());
        let of_ingredient = || self.ingredient(id).map(|of| of.limits.as_slice());
        of_drug.or_else(of_ingredient)
    }

    /// What this stanza says to be the same amount of it, a drug's or an
    /// ingredient's.
    #[must_use]
    pub fn equals(&self, id: StanzaId) -> Option<&Ties> {
        let of_drug = self.drug(id).map(|drug| drug.equals.as_slice());
        let of_ingredient = || self.ingredient(id).map(|of| of.equals.as_slice());
        of_drug.or_else(of_ingredient)
    }

    /// The set of this stanza.
    #[must_use]
    pub fn set(&self, id: StanzaId) -> Option<&Arc<Set>> {
        self.sets.get(&id)
    }
}
