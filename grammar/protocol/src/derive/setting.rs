//! The flow of a run at its start, and at the ends of what it may be adjusted
//! to.

use super::run::Setup;
use super::schedule::At;
use super::{Run, Setting, View};
use crate::curve::Curve;
use crate::model::lower::Lowering;
use crate::model::order::Order;
use crate::model::size::{Form, Size};

/// The exact flow of a run at one setting of its phase's `adjust`; as it
/// starts where there is none. Runs set by time are not adjusted.
#[must_use]
pub(super) fn flow(order: &Order, view: &View, phase: usize, run: usize, at: At) -> Option<Curve> {
    let derived = view.phases.get(phase)?.runs.get(run)?;
    let steps = order
        .phases
        .get(phase)?
        .adjust
        .as_ref()
        .map(|adjust| &adjust.steps);
    let setting = match (at, steps) {
        (At::Start, _) | (_, None) => None,
        (At::Low, Some(steps)) => steps.low(),
        (At::High, Some(steps)) => steps.high(),
    };
    match (setting, &derived.setting) {
        (Some(setting), Setting::Rate(_)) => view.flow_at(order, phase, derived, setting),
        _ => Some(derived.flow.clone()),
    }
}

impl View {
    /// The exact flow of a run at its start, or at an end of what it may be
    /// adjusted to.
    #[must_use]
    pub fn flow_of(&self, order: &Order, phase: usize, run: usize, at: At) -> Option<Curve> {
        flow(order, self, phase, run, at)
    }

    /// The exact flow of a run at any setting: a flow, a dose or a drip, the
    /// run's lid applied. `None` where the setting cannot be brought to a flow.
    #[must_use]
    pub fn flow_at(&self, order: &Order, phase: usize, run: &Run, setting: &Size) -> Option<Curve> {
        self.setup(order, phase)?
            .flow_at(&mut Lowering::default(), setting, run.flow_lid.as_ref())
    }

    /// A flow of this phase's bag, counted in another form (as a dose per kg).
    #[must_use]
    pub fn in_form(&self, order: &Order, phase: usize, flow: &Curve, like: &Size) -> Option<Curve> {
        self.setup(order, phase)?.in_form_of(flow, like)
    }

    /// The volume, or volume per time, that a size makes with this phase's bag.
    #[must_use]
    pub fn volume_of(&self, order: &Order, phase: usize, size: &Size) -> Option<Curve> {
        self.setup(order, phase)?
            .volume(&mut Lowering::default(), size)
    }

    fn setup<'a>(&'a self, order: &'a Order, phase: usize) -> Option<Setup<'a>> {
        Some(Setup {
            order,
            phase: order.phases.get(phase)?,
            patients: &self.patients,
            bag: &self.phases.get(phase)?.bag,
        })
    }

    /// Drug per time, or an amount of it, of this phase's bag in `form`: per
    /// kg, per m2, by another counting. `None` where nothing ties the
    /// countings, or the patient's weight or surface is not stated.
    #[must_use]
    pub fn drug_in_form(
        &self,
        order: &Order,
        phase: usize,
        drug: &Curve,
        form: Form,
    ) -> Option<Curve> {
        let bag = self.phases.get(phase)?.bag.drug.as_ref()?;
        let named = order.drug.as_ref().map(|drug| &*drug.value);
        let factor = super::equivalence(named, bag.kind, form.drug()?)?;
        drug.scale(&factor).div(&self.patients.factor(form)?)
    }
}
