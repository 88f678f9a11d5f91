//! A substance that reaches the patient from whatever holds it: against the
//! limits of its `ingredient`; where that states none of a measure, against those
//! of a high-alert drug that is given for it. The potassium of a hung fluid
//! counts as that of potassium chloride does.

use gutta_notation::ast::LimitMeasure;
use smol_str::SmolStr;

use super::compare::{Judging, judge_reading};
use super::judgement::Judgement;
use super::limiting::{Limiting, limiting};
use super::substance_readings::{Brought, Sought};
use crate::derive::Values;
use crate::model::Library;
use crate::model::limit::LimitBound;
use crate::model::order::Order;
use crate::{StanzaId, Workspace};

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
