//! The steps to what is in a bag.

use gutta_quantity::{Atom, Exact, Unit, units};

use super::run::per_ml;
use super::{StyledQuantity, Working, without_patient};
use crate::curve::Curve;
use crate::derive::DrugInBag;
use crate::measures::amount_unit;
use crate::model::order::{BagSpec, Preparation};

impl Working<'_> {
    /// The steps to a bag's strength, unless they stand there already.
    pub(super) fn bag(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let mut bag = Vec::new();
        self.mixing(phase, &mut bag)?;
        bag.retain(|step| !steps.contains(step));
        steps.extend(bag);
        Some(())
    }

    fn mixing(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let bag = &self.view.phases.get(phase)?.bag;
        let spec = self.order.phases.get(bag.phase)?.bag.as_ref()?;
        let volume = bag.volume.at(self.x)?;
        if let Preparation::MadeUpTo { drug, cap, .. } | Preparation::AddedTo { drug, cap, .. } =
            &spec.how
        {
            let whole = self.whole(drug, steps)?;
            self.cap(whole, cap.as_ref(), steps)?;
        }
        let Some(drug) = &bag.drug else {
            return Some(());
        };
        let amount_unit = written_amount(spec, drug);
        let amount = self.quantity(drug.amount.at(self.x)?, amount_unit);
        if let (Some(draw), Some(supplied)) = (&drug.draw, self.supplied()) {
            let draw = self.quantity(draw.at(self.x)?, units::ML);
            if !matches!(spec.how, Preparation::Undiluted { .. }) {
                steps.push(format!(
                    "{amount} ÷ {supplied} = {draw} of the drug as supplied"
                ));
            }
            if let Preparation::AddedTo {
                volume: diluent, ..
            } = &spec.how
            {
                let diluent =
                    self.quantity(self.view.patients.whole(diluent)?.at(self.x)?, diluent.unit);
                steps.push(format!(
                    "{diluent} + {draw} = {} in the bag",
                    self.quantity(volume.clone(), units::ML)
                ));
            }
        }
        let strength = |base: Exact| self.quantity(base, per_ml(amount_unit)).to_string();
        let counted = self.quantity(bag.counted.at(self.x)?, units::ML);
        let by_name = strength(drug.strength.at(self.x)?);
        if bag.is_counted {
            let truly = strength(drug.true_strength.at(self.x)?);
            steps.push(format!("{amount} ÷ {counted} (as counted) = {by_name}"));
            steps.push(format!(
                "{amount} ÷ {} (true volume) = {truly}",
                self.quantity(volume, units::ML)
            ));
        } else {
            steps.push(format!("{amount} ÷ {counted} = {by_name}"));
        }
        Some(())
    }

    /// A strength of the phase's bag, in the unit in which its line has the drug.
    pub(super) fn strength(&self, phase: usize, strength: &Curve) -> Option<StyledQuantity> {
        let bag = &self.view.phases.get(phase)?.bag;
        let spec = self.order.phases.get(bag.phase)?.bag.as_ref()?;
        let amount = written_amount(spec, bag.drug.as_ref()?);
        self.told(strength, per_ml(amount))
    }

    /// How much diluent goes in.
    pub(super) fn diluent(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let bag = &self.view.phases.get(phase)?.bag;
        let spec = self.order.phases.get(bag.phase)?.bag.as_ref()?;
        self.bag(phase, steps)?;
        let draw = bag.drug.as_ref().and_then(|drug| drug.draw.as_ref());
        if let (Preparation::MadeUpTo { .. }, Some(draw)) = (&spec.how, draw) {
            steps.push(format!(
                "{} less {} of the drug as supplied",
                self.told(&bag.volume, units::ML)?,
                self.told(draw, units::ML)?
            ));
        }
        Some(())
    }

    /// From how many containers the drug is drawn.
    pub(super) fn containers(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
        let supply = self.order.drug.as_ref()?.value.supplied.as_ref()?;
        self.bag(phase, steps)?;
        steps.push(format!(
            "{} ÷ {} per container = {}",
            self.told(drug.draw.as_ref()?, units::ML)?,
            self.quantity(supply.container.clone()?, units::ML),
            self.told(drug.containers.as_ref()?, Unit::NONE)?
        ));
        Some(())
    }

    pub(super) fn supplied(&self) -> Option<StyledQuantity> {
        let supply = self.order.drug.as_ref()?.value.supplied.as_ref()?;
        let top = amount_unit(supply.kind).top?;
        Some(self.quantity(supply.strength.clone(), Unit::over(top, Atom::ML)))
    }
}

/// The unit of the drug in a bag, as its line writes it.
fn written_amount(spec: &BagSpec, drug: &DrugInBag) -> Unit {
    let written = match &spec.how {
        Preparation::MadeUpTo { drug, .. } | Preparation::AddedTo { drug, .. } => Some(drug),
        Preparation::Premixed { amount, .. } => Some(amount),
        Preparation::PremixedStrength { .. }
        | Preparation::Fluid { .. }
        | Preparation::Undiluted { .. } => None,
    };
    let of_drug = written.filter(|size| size.form.drug() == Some(drug.kind));
    of_drug.map_or_else(|| amount_unit(drug.kind), |size| without_patient(size.unit))
}
