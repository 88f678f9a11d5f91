//! The osmolarity of what is in a bag: as stated, or worked out from what it
//! contains.

use gutta_quantity::Exact;

use super::View;
use super::osmoles::{of_drug, of_solution, per_unit};
use crate::curve::Curve;
use crate::model::limit::{LimitBound, Side};
use crate::model::order::{Order, Preparation};

/// The osmolarity of a bag, base units, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Osmolarity {
    /// No less than this.
    pub least: Curve,
    /// No more than this; `None`: a share of it is not stated, and cannot be
    /// worked out.
    pub most: Option<Curve>,
}

impl Osmolarity {
    /// The value that a bound judges: the least that it can be, where that
    /// breaks the bound, the most, where that keeps it; `None` where neither
    /// says so. Of a bound that is not to be fallen below, the other way round.
    #[must_use]
    pub fn judged(self, bound: &LimitBound) -> Option<Curve> {
        let line = Curve::constant(self.least.span().clone(), bound.bound.clone());
        let nowhere = |regions: Option<Vec<_>>| regions.is_some_and(|found| found.is_empty());
        let (breaks, keeps) = match bound.side {
            Side::High => (Some(self.least), self.most),
            Side::Low => (self.most, Some(self.least)),
        };
        let beyond = |curve: &Curve| match bound.side {
            Side::High => curve.where_above(&line),
            Side::Low => curve.where_below(&line),
        };
        if let Some(breaks) = breaks.filter(|breaks| !nowhere(beyond(breaks))) {
            return Some(breaks);
        }
        keeps.filter(|keeps| nowhere(beyond(keeps)))
    }
}

impl View {
    /// The osmolarity of a phase's bag; `None` where its volumes cannot be
    /// computed.
    #[must_use]
    pub fn osmolarity(&self, order: &Order, phase: usize) -> Option<Osmolarity> {
        let bag = &self.phases.get(phase)?.bag;
        let spec = order.phases.get(bag.phase)?.bag.as_ref()?;
        let premixed = matches!(
            spec.how,
            Preparation::Premixed { .. } | Preparation::PremixedStrength { .. }
        );
        let nothing = self.patients.constant(Exact::ZERO);
        let mut sum = Osmolarity {
            least: nothing.clone(),
            most: Some(nothing),
        };
        let mut add = |share: Option<Curve>, least: &Exact, most: Option<&Exact>| {
            let Some(share) = share else {
                sum.most = None;
                return Some(());
            };
            sum.least = sum.least.add(&share.scale(least))?;
            sum.most = match (&sum.most, most) {
                (Some(known), Some(most)) => Some(known.add(&share.scale(most))?),
                _ => None,
            };
            Some(())
        };
        if let Some(solution) = &spec.solution {
            let osmoles = of_solution(&solution.value);
            let share = match &bag.diluent {
                Some(diluent) => Some(diluent.div(&bag.volume)?),
                None if premixed => Some(self.patients.constant(Exact::ONE)),
                None => None,
            };
            add(share, &osmoles.least, osmoles.most.as_ref())?;
        }
        if let Some(drug) = &bag.drug {
            let named = order.drug.as_ref().map(|drug| &*drug.value);
            match &drug.draw {
                Some(draw) => {
                    let osmoles = named.map(of_drug).unwrap_or_default();
                    let share = Some(draw.div(&bag.volume)?);
                    add(share, &osmoles.least, osmoles.most.as_ref())?;
                }
                // Of a premixed bag no more is known than its amount.
                None => {
                    let per = named.and_then(|named| per_unit(named, drug.kind));
                    let made = named.is_some_and(|named| named.made.is_some());
                    let strength = per.as_ref().map(|_| drug.true_strength.clone());
                    let (least, most) = per.unwrap_or_default();
                    add(strength, &least, Some(&most).filter(|_| made))?;
                }
            }
        }
        Some(sum)
    }
}
