//! What a bag holds besides its drug, and its osmolarity.

use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::View;
use super::bag::supplied_in;
use crate::curve::Curve;
use crate::model::order::Order;
use crate::model::size::DrugKind;

/// A substance in a bag, per volume.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Content {
    /// The substance.
    pub substance: SmolStr,
    /// In what it is counted.
    pub kind: DrugKind,
    /// Per base unit of (true) volume, the diluent's and the drug's share
    /// together.
    pub per_volume: Curve,
    /// Whether every share of it is known: how much diluent went in, how the
    /// drug is supplied.
    pub certain: bool,
}

impl View {
    /// In what the order's first bag with the drug counts it.
    pub(crate) fn first_kind(&self) -> Option<DrugKind> {
        let mut bags = self
            .phases
            .iter()
            .filter_map(|phase| phase.bag.drug.as_ref());
        bags.next().map(|drug| drug.kind)
    }

    /// The volume of the drug as supplied that a phase's bag holds, per volume:
    /// of one that is bought mixed, as much as its amount would take. `None`
    /// where it is not stated how the drug is supplied.
    fn share_as_supplied(&self, order: &Order, phase: usize) -> Option<Curve> {
        let bag = &self.phases.get(phase)?.bag;
        let drug = bag.drug.as_ref()?;
        if let Some(draw) = &drug.draw {
            return draw.div(&bag.volume);
        }
        let (strength, _) = supplied_in(&order.drug.as_ref()?.value, drug.kind)?;
        Some(drug.true_strength.scale(&strength.recip()?))
    }

    /// What a phase's bag brings besides its drug. Base units.
    #[must_use]
    pub fn contents(&self, order: &Order, phase: usize) -> Option<Vec<Content>> {
        let bag = &self.phases.get(phase)?.bag;
        let spec = order.phases.get(bag.phase)?.bag.as_ref()?;
        let mut contents = Vec::new();
        if let Some(solution) = &spec.solution {
            let share = match &bag.diluent {
                Some(diluent) => Some(diluent.div(&bag.volume)?),
                None => None,
            };
            let certain = share.is_some();
            let share = share.unwrap_or_else(|| self.patients.constant(Exact::ONE));
            for content in &solution.value.contains {
                add(
                    &mut contents,
                    &content.substance,
                    content.kind,
                    share.scale(&content.strength),
                    certain,
                )?;
            }
        }
        let drug = order.drug.as_ref().filter(|_| bag.drug.is_some());
        for content in drug.into_iter().flat_map(|drug| &drug.value.contains) {
            let share = self.share_as_supplied(order, phase);
            let certain = share.is_some();
            let share = share.unwrap_or_else(|| self.patients.constant(Exact::ZERO));
            add(
                &mut contents,
                &content.substance,
                content.kind,
                share.scale(&content.strength),
                certain,
            )?;
        }
        Some(contents)
    }
}

fn add(
    contents: &mut Vec<Content>,
    substance: &SmolStr,
    kind: DrugKind,
    per_volume: Curve,
    certain: bool,
) -> Option<()> {
    match contents
        .iter_mut()
        .find(|known| known.substance == *substance && known.kind == kind)
    {
        Some(known) => {
            known.per_volume = known.per_volume.add(&per_volume)?;
            known.certain &= certain;
        }
        None => contents.push(Content {
            substance: substance.clone(),
            kind,
            per_volume,
            certain,
        }),
    }
    Some(())
}
