//! The flow of a run at its start, and at the ends of what it may be adjusted
//! to.

use super::run::Setup;
use super::{Run, Setting, View};
use crate::curve::Curve;
use crate::model::drug::equivalence;
use crate::model::lower::Lowering;
use crate::model::order::{AdjustSpec, Order};
use crate::model::size::{Form, Size};

/// At which setting an order that may be adjusted is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// As it starts.
    Start,
    /// At the lowest step from the first moment on.
    Low,
    /// At the highest step from the first moment on.
    High,
}

/// The exact flow of a run at one setting of its phase's `adjust`; as it
/// starts where that does not reach it. A run set by a time starts where its
/// volume puts it, which may lie beyond every step: that then is its highest
/// or lowest.
#[must_use]
pub(super) fn flow(order: &Order, view: &View, phase: usize, run: usize, at: At) -> Option<Curve> {
    let derived = view.phases.get(phase)?.runs.get(run)?;
    let start = || Some(derived.flow.clone());
    let Some(steps) = view.adjusted(order, phase, run).map(|adjust| &adjust.steps) else {
        return start();
    };
    let setting = match at {
        At::Start => None,
        At::Low => steps.low(),
        At::High => steps.high(),
    };
    let Some(setting) = setting else {
        return start();
    };
    let flow = view.flow_at(order, phase, derived, setting)?;
    match (&derived.setting, at) {
        (Setting::Time, At::Low) => flow.min(&derived.flow),
        (Setting::Time, At::High) => flow.max(&derived.flow),
        _ => Some(flow),
    }
}

impl View {
    /// What a run may be adjusted to. Its phase's `adjust` reaches every run
    /// that is set by a rate, and the last of all however it is set: one set by
    /// a time that others follow has that time.
    #[must_use]
    pub fn adjusted<'a>(
        &self,
        order: &'a Order,
        phase: usize,
        run: usize,
    ) -> Option<&'a AdjustSpec> {
        let runs = &self.phases.get(phase)?.runs;
        let reached = match runs.get(run)?.setting {
            Setting::Rate(_) => true,
            Setting::Time => run + 1 == runs.len(),
        };
        let adjust = order.phases.get(phase)?.adjust.as_ref();
        adjust.filter(|_| reached)
    }

    /// Whether a run goes by another setting where one is asked for. Where
    /// anything in the order may be adjusted, that is what may be, and all else
    /// stays as ordered. Where nothing may be, the question is what the order
    /// would be with that setting in it: then it is every run set by a rate,
    /// but for loads beside what follows them; a time stays what it is.
    #[must_use]
    pub(crate) fn takes_setting(&self, order: &Order, phase: usize, run: usize) -> bool {
        let mut all = self.runs();
        if all.any(|(phase, run)| self.adjusted(order, phase, run.index).is_some()) {
            return self.adjusted(order, phase, run).is_some();
        }
        let by_rate = |run: &Run| matches!(run.setting, Setting::Rate(_));
        let loads = |phase: usize| {
            let spec = order.phases.get(phase);
            spec.is_some_and(crate::model::order::Phase::is_loading)
        };
        let mut others = self.runs();
        let beside = others.any(|(phase, run)| by_rate(run) && !loads(phase));
        let derived = self.phases.get(phase).and_then(|of| of.runs.get(run));
        derived.is_some_and(by_rate) && !(loads(phase) && beside)
    }

    /// The exact flow of a run at its start, or at another setting where it
    /// goes by that.
    #[must_use]
    pub(crate) fn flow_when_set(
        &self,
        order: &Order,
        phase: usize,
        run: usize,
        setting: Option<&Size>,
    ) -> Option<Curve> {
        let derived = self.phases.get(phase)?.runs.get(run)?;
        match setting {
            Some(setting) if self.takes_setting(order, phase, run) => {
                self.flow_at(order, phase, derived, setting)
            }
            _ => Some(derived.flow.clone()),
        }
    }

    /// The exact flow of a run at its start, or at an end of what it may be
    /// adjusted to.
    #[must_use]
    pub fn flow_of(&self, order: &Order, phase: usize, run: usize, at: At) -> Option<Curve> {
        flow(order, self, phase, run, at)
    }

    /// The exact flow of a run at any setting: a flow, a dose or a drip, the
    /// run's cap applied. `None` where the setting cannot be brought to a flow.
    #[must_use]
    pub fn flow_at(&self, order: &Order, phase: usize, run: &Run, setting: &Size) -> Option<Curve> {
        self.setup(order, phase)?
            .flow_at(&mut Lowering::default(), setting, run.flow_cap.as_ref())
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
        let factor = equivalence(named, bag.kind, form.drug()?)?;
        drug.scale(&factor).div(&self.patients.factor(form)?)
    }
}
