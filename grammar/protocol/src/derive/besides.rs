//! What a bag brings besides its drug of the very substance that the drug is
//! given for. The limits of potassium chloride are those of potassium, and a
//! solution that holds potassium adds to it: the strength of an electrolyte is
//! the sum of what is in the bag.

use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::View;
use crate::curve::Curve;
use crate::model::drug::{Drug, equivalence};
use crate::model::limit::Side;
use crate::model::order::{Named, Order};
use crate::model::reference::{ContainedSubstance, Solution};
use crate::model::size::DrugKind;

/// What a drug contains and how it is supplied are both rounded on labels: so
/// far they may be apart, as a share, and be the same (our own choice).
const ROUNDED: (i64, i64) = (1, 20);
/// Substances that go with most electrolytes, and are seldom what one is given
/// for.
pub const COMPANIONS: [&str; 2] = ["sodium", "chloride"];

/// What stands beside the drug in a bag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Besides {
    /// Nothing that its limits speak of.
    Nothing,
    /// The substance, and how much there is of it in a base unit of true
    /// volume, counted as the bag's drug is.
    Brings {
        /// Potassium, of potassium chloride.
        substance: SmolStr,
        /// The curve over the patients.
        per_volume: Curve,
        /// Whether it is known how much of the solution went in; if not, it
        /// can be no more than this.
        certain: bool,
    },
    /// Something, and no `equals` ties its counting to the drug's.
    Unknown,
}

impl View {
    /// What the solution of a phase's bag brings of the drug's own substance.
    #[must_use]
    pub fn besides(&self, order: &Order, phase: usize) -> Besides {
        let found = || {
            let bag = &self.phases.get(phase)?.bag;
            let solution = order
                .phases
                .get(bag.phase)?
                .bag
                .as_ref()?
                .solution
                .as_ref()?;
            let drug = order.drug.as_ref()?;
            let (substance, strength) = brought(drug, solution, bag.drug.as_ref()?.kind)?;
            let Some(strength) = strength else {
                return Some(Besides::Unknown);
            };
            let share = match &bag.diluent {
                Some(diluent) => diluent.div(&bag.volume)?,
                None => self.patients.constant(Exact::ONE),
            };
            Some(Besides::Brings {
                substance: substance.clone(),
                per_volume: share.scale(&strength),
                certain: bag.diluent.is_some(),
            })
        };
        found().unwrap_or(Besides::Nothing)
    }

    /// The strength of a phase's bag that a limit on this side goes by: a
    /// `usual` by the nominal one, a `never` by the worse of the two; and what
    /// else there is of the drug's substance. Where it is not known how much, a
    /// lower bound does not count on it.
    pub(crate) fn strength_judged(
        &self,
        order: &Order,
        phase: usize,
        (side, usual): (Side, bool),
        of_bag: bool,
    ) -> Option<Curve> {
        let drug = self.phases.get(phase)?.bag.drug.as_ref()?;
        let own = match usual {
            true => drug.strength_of(of_bag).clone(),
            false => drug.worse(side, of_bag)?,
        };
        match self.besides(order, phase).counted(side) {
            Some(per_volume) => own.add(&per_volume),
            None => Some(own),
        }
    }
}

impl Besides {
    /// What a limit on this side counts.
    pub(crate) fn counted(self, side: Side) -> Option<Curve> {
        match self {
            Self::Brings {
                per_volume,
                certain,
                ..
            } if certain || side == Side::High => Some(per_volume),
            _ => None,
        }
    }
}

/// The substance of a drug that a solution brings, and how much per volume,
/// where its counting is tied to `kind`.
pub(crate) fn brought<'s>(
    drug: &Named<Drug>,
    solution: &'s Named<Solution>,
    kind: DrugKind,
) -> Option<(&'s SmolStr, Option<Exact>)> {
    let contents = &solution.value.contains;
    let own = substance_of(&drug.value, contents)?;
    let mut alike = contents.iter().filter(|content| content.substance == own);
    let first = alike.clone().next()?;
    let strength = alike.find_map(|content| {
        let factor = equivalence(Some(&drug.value), content.kind, kind)?;
        Some(&content.strength * &factor)
    });
    Some((&first.substance, strength))
}

/// The substance that a drug is given for: of what it contains that which is
/// as much as the drug itself; of a drug that does not say, the one of the
/// solution's that its name speaks of.
#[must_use]
pub fn substance_of(drug: &Drug, of_solution: &[ContainedSubstance]) -> Option<SmolStr> {
    let alone = |name: &SmolStr| !COMPANIONS.contains(&name.as_str());
    if drug.contains.is_empty() {
        let named = |content: &&ContainedSubstance| {
            drug.name.split('-').any(|word| word == content.substance)
        };
        let names = of_solution.iter().filter(named);
        let mut names = names.map(|content| &content.substance);
        return names.find(|name| alone(name)).cloned();
    }
    let supply = drug.supplied.as_ref()?;
    let is_drug = |content: &&ContainedSubstance| {
        let most = Exact::ratio(ROUNDED.0, ROUNDED.1).unwrap_or_default();
        let factor = equivalence(Some(drug), content.kind, supply.kind);
        factor.is_some_and(|factor| {
            let apart = &(&content.strength * &factor) - &supply.strength;
            apart.abs() <= &supply.strength * &most
        })
    };
    let drugs = drug.contains.iter().filter(is_drug);
    let mut names = drugs.map(|content| &content.substance);
    let first = names.clone().next();
    names.find(|name| alone(name)).or(first).cloned()
}
