//! What a bag holds besides its drug, and its osmolarity.

use gutta_quantity::{Exact, work};
use rustc_hash::{FxHashMap, FxHashSet};
use smol_str::SmolStr;

use super::View;
use super::bag::supplied_in;
use crate::curve::Curve;
use crate::model::order::Order;
use crate::model::reference;
use crate::model::size::DrugKind;

/// A substance in a bag, per volume.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BagContent {
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
    /// Whether there can be no more of it: what is not known counts with the
    /// most that it may be, and not as nothing.
    pub at_most: bool,
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

    /// The substances that the order brings, in its bags, in what keeps the
    /// vein open and in its flushes, with what each is counted in.
    #[must_use]
    pub fn substances(&self, order: &Order) -> Vec<(SmolStr, DrugKind)> {
        let phases = 0..order.phases.len();
        let contents = phases.map(|phase| self.contents(order, phase));
        substances_in(order, contents.map(Option::unwrap_or_default))
    }

    /// What a phase's bag brings besides its drug. Base units.
    #[must_use]
    pub fn contents(&self, order: &Order, phase: usize) -> Option<Vec<BagContent>> {
        self.contents_that(order, phase, |_| true)
    }

    /// What a phase's bag brings of one substance, in each way in which it is
    /// counted. Base units.
    #[must_use]
    pub(crate) fn contents_of(
        &self,
        order: &Order,
        phase: usize,
        substance: &str,
    ) -> Option<Vec<BagContent>> {
        self.contents_that(order, phase, |other| other == substance)
    }

    fn contents_that(
        &self,
        order: &Order,
        phase: usize,
        wanted: impl Fn(&str) -> bool,
    ) -> Option<Vec<BagContent>> {
        let bag = &self.phases.get(phase)?.bag;
        let spec = order.phases.get(bag.phase)?.bag.as_ref()?;
        let mut contents = Contents::default();
        let wanted = |content: &&reference::ContainedSubstance| wanted(&content.substance);
        if let Some(solution) = &spec.solution {
            let share = match &bag.diluent {
                Some(diluent) => Some(diluent.div(&bag.volume)?),
                None => None,
            };
            let certain = share.is_some();
            let share = share.unwrap_or_else(|| self.patients.constant(Exact::ONE));
            for content in solution.value.contains.iter().filter(wanted) {
                contents.add(content, share.scale(&content.strength), (certain, true))?;
            }
        }
        let drug = order.drug.as_ref().filter(|_| bag.drug.is_some());
        let of_drug = drug.map_or(&[][..], |drug| &drug.value.contains);
        if !of_drug.is_empty() {
            let share = self.share_as_supplied(order, phase);
            let certain = share.is_some();
            let share = share.unwrap_or_else(|| self.patients.constant(Exact::ZERO));
            for content in of_drug.iter().filter(wanted) {
                contents.add(content, share.scale(&content.strength), (certain, certain))?;
            }
        }
        Some(contents.all)
    }
}

/// Contents, found by what they are of.
#[derive(Default)]
struct Contents {
    all: Vec<BagContent>,
    places: FxHashMap<(SmolStr, DrugKind), usize>,
}

impl Contents {
    fn add(
        &mut self,
        of: &reference::ContainedSubstance,
        per_volume: Curve,
        (certain, at_most): (bool, bool),
    ) -> Option<()> {
        work::charge(1);
        let next = self.all.len();
        let of = (of.substance.clone(), of.kind);
        let place = *self.places.entry(of.clone()).or_insert(next);
        match self.all.get_mut(place) {
            Some(known) => {
                known.per_volume = known.per_volume.add(&per_volume)?;
                known.certain &= certain;
                known.at_most &= at_most;
            }
            None => self.all.push(BagContent {
                substance: of.0,
                kind: of.1,
                per_volume,
                certain,
                at_most,
            }),
        }
        Some(())
    }
}

/// The substances in the contents of an order's bags, phase by phase, in what keeps
/// the vein open and in its flushes.
pub(crate) fn substances_in<C: AsRef<[BagContent]>>(
    order: &Order,
    contents: impl IntoIterator<Item = C>,
) -> Vec<(SmolStr, DrugKind)> {
    let (mut substances, mut seen) = (Vec::new(), FxHashSet::default());
    let mut add = |substance: (SmolStr, DrugKind)| {
        if seen.insert(substance.clone()) {
            substances.push(substance);
        }
    };
    for (spec, contents) in order.phases.iter().zip(contents) {
        for content in contents.as_ref() {
            add((content.substance.clone(), content.kind));
        }
        let beside = spec.beside_the_bag();
        for content in beside.flat_map(|solution| &solution.value.contains) {
            add((content.substance.clone(), content.kind));
        }
    }
    substances
}
