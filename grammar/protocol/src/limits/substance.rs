//! A substance that reaches the patient from whatever holds it: against the
//! limits of its `ingredient`; where that states none of a measure, against those
//! of a high-alert drug that is given for it. The potassium of a hung fluid
//! counts as that of potassium chloride does.

use std::sync::Arc;

use gutta_notation::StanzaKind;
use gutta_notation::ast::LimitMeasure;
use smol_str::SmolStr;

use super::judge::{Judgement, Judging, judge_reading};
use super::substance_readings::{Brought, Sought};
use crate::derive::{COMPANIONS, Values, equivalence, substance_of};
use crate::model::Library;
use crate::model::drug::Drug;
use crate::model::ingredient::Ingredient;
use crate::model::limit::{LimitBound, Side, TotalOver};
use crate::model::order::Order;
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
pub fn judges_substance(bound: &LimitBound) -> bool {
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

/// What one stanza's limits say of a substance that an order brings.
#[derive(Clone, Debug)]
pub struct OfSubstance {
    /// The substance.
    pub name: SmolStr,
    /// The stanza that limits it.
    pub id: StanzaId,
    /// What it states.
    pub by: Limiting,
    /// What was found.
    pub judgement: Judgement,
    /// Whether the limits of an `ingredient` hold in place of all of these.
    pub replaced: bool,
}

/// Judges every substance that an order brings by whatever limits it.
#[must_use]
pub fn of_substances(
    workspace: &Workspace,
    library: &Library,
    order: &Order,
    values: &Values,
) -> Vec<OfSubstance> {
    let views = values.views.iter().map(|view| Brought::new(order, view));
    let views: Vec<_> = views.collect();
    let mut names: Vec<SmolStr> = Vec::new();
    for (name, _) in views
        .first()
        .into_iter()
        .flat_map(|first| &first.substances)
    {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    let own = order.drug.as_ref().map(|drug| drug.id);
    let mut all = Vec::new();
    for name in names {
        // The measures of which an `ingredient` has said what is never right.
        let mut said: Vec<LimitMeasure> = Vec::new();
        for (id, by) in limiting(workspace, library, order.id.file, &name) {
            if Some(id) == own {
                // Its limits count what else there is of it already.
                continue;
            }
            let is_drug = matches!(by, Limiting::Drug(_));
            let left = |bound: &LimitBound| !is_drug || !said.contains(&bound.measure);
            let (judgement, judged) =
                judge_substance(order, (values, &views), (id, &by), &name, left);
            let replaced = is_drug && !said.is_empty() && judged.is_empty();
            if !is_drug {
                said.extend(judged);
            }
            all.push(OfSubstance {
                name: name.clone(),
                id,
                by,
                judgement,
                replaced,
            });
        }
    }
    all
}

/// Judges what an order brings of a substance by those bounds of a stanza that
/// `which` picks; and the measures of which a `never` was held against it.
fn judge_substance(
    order: &Order,
    (values, brought): (&Values, &[Brought<'_>]),
    (id, by): (StanzaId, &Limiting),
    name: &str,
    which: impl Fn(&LimitBound) -> bool,
) -> (Judgement, Vec<LimitMeasure>) {
    let mut judgement = Judgement::default();
    let mut measures = Vec::new();
    let bounds: Vec<_> = by
        .limits()
        .iter()
        .filter(|bound| by.judges(bound) && which(bound))
        .collect();
    if bounds.is_empty() {
        return (judgement, measures);
    }
    for (index, (view, brought)) in values.views.iter().zip(brought).enumerate() {
        let sought = Sought::new(brought, by, name);
        let mut judging = Judging {
            judgement: &mut judgement,
            order,
            view,
            index,
            drug: id,
            limits: by.limits(),
        };
        for bound in &bounds {
            let mut judged = false;
            for reading in sought.readings(bound) {
                judged |= !judge_reading(&mut judging, bound, reading, None).is_empty();
            }
            judging.judgement.applied += usize::from(judged);
            if judged && !bound.usual && !measures.contains(&bound.measure) {
                measures.push(bound.measure);
            }
        }
    }
    (judgement, measures)
}
