//! What limits a substance: its own `ingredient`, or a high-alert drug that is
//! given for it.

use std::sync::Arc;

use gutta_notation::StanzaKind;
use gutta_notation::ast::LimitMeasure;
use smol_str::SmolStr;

use crate::derive::{COMPANIONS, substance_of};
use crate::model::Library;
use crate::model::drug::{Drug, equivalence};
use crate::model::ingredient::Ingredient;
use crate::model::limit::{LimitBound, Side, TotalOver};
use crate::model::size::DrugKind;
use crate::{FileId, StanzaId, Workspace};

/// What limits a substance wherever it comes from.
#[derive(Clone, Debug)]
pub enum Limiting {
    /// Its own stanza.
    Ingredient(Arc<Ingredient>),
    /// A high-alert drug that is given for it.
    Drug(Arc<Drug>),
}

impl Limiting {
    /// Its limits.
    #[must_use]
    pub fn limits(&self) -> &[LimitBound] {
        match self {
            Self::Ingredient(ingredient) => &ingredient.limits,
            Self::Drug(drug) => &drug.limits,
        }
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &SmolStr {
        match self {
            Self::Ingredient(ingredient) => &ingredient.name,
            Self::Drug(drug) => &drug.name,
        }
    }

    /// Whether it was read whole.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        match self {
            Self::Ingredient(ingredient) => ingredient.whole,
            Self::Drug(drug) => drug.whole,
        }
    }

    /// A base unit of `from` in base units of `to`; `None` where nothing ties
    /// the two.
    #[must_use]
    pub fn factor(&self, from: DrugKind, to: DrugKind) -> Option<gutta_quantity::Exact> {
        match self {
            Self::Ingredient(ingredient) => ingredient.factor(from, to),
            Self::Drug(drug) => equivalence(Some(drug), from, to),
        }
    }

    /// Whether a bound of it is held against the substance.
    #[must_use]
    pub fn judges(&self, bound: &LimitBound) -> bool {
        match self {
            Self::Ingredient(_) => true,
            Self::Drug(_) => judges_substance(bound),
        }
    }
}

/// Whether a bound of a drug says how much of its substance may reach a patient
/// in a time, wherever it comes from.
#[must_use]
pub(crate) fn judges_substance(bound: &LimitBound) -> bool {
    let in_time = bound.measure == LimitMeasure::Dose
        || bound.measure == LimitMeasure::Total && bound.over != TotalOver::Order;
    !bound.usual && bound.side == Side::High && in_time
}

/// What limits a substance in a file: its `ingredient`, wherever in the
/// workspace it stands, since nobody names it in an order; then the high-alert
/// drugs in sight that are given for it.
#[must_use]
pub fn limiting(
    workspace: &Workspace,
    library: &Library,
    file: FileId,
    substance: &SmolStr,
) -> Vec<(StanzaId, Limiting)> {
    let ingredients = workspace.ingredients(substance).into_iter();
    let ingredients = ingredients.filter_map(|id| {
        let ingredient = Arc::clone(library.ingredient(id)?);
        Some((id, Limiting::Ingredient(ingredient)))
    });
    let mut all: Vec<_> = ingredients.collect();
    if COMPANIONS.contains(&substance.as_str()) {
        return all;
    }
    let stanzas = workspace.containing(file, substance).into_iter();
    let drugs = stanzas.filter(|id| workspace.stanza(*id).kind == StanzaKind::Drug);
    let drugs = drugs.filter_map(|id| Some((id, Arc::clone(library.drug(id)?))));
    let given = drugs
        .filter(|(_, drug)| drug.high_alert && substance_of(drug, &[]).as_ref() == Some(substance));
    all.extend(given.map(|(id, drug)| (id, Limiting::Drug(drug))));
    all
}
