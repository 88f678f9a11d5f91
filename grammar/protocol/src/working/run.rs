//! The steps to what a run or a bolus does.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Atom, Exact, Unit, units};

use super::convert::{brought, factors, time as spoken};
use super::{StyledQuantity, Working};
use crate::derive::{Action, Run, Setting};
use crate::measures::{Measure, Value, ValueOf, amount_unit};
use crate::model::drug::equivalence;
use crate::model::order::{RunSpec, WaySpec, WhatSpec};
use crate::model::size::{Size, Stuff};

impl Working<'_> {
    /// The steps to a value of a run.
    pub(super) fn run(&self, phase: usize, value: &Value, steps: &mut Vec<String>) -> Option<()> {
        let run = self.view.phases.get(phase)?.runs.get(value.run?)?;
        let spec = self.order.phases.get(phase)?.runs.get(run.index)?;
        let set = self.setting_of(phase, run);
        let Measure::Expect(measure) = &value.measure else {
            // The one measure of a run that `expect` has no word for.
            self.flow(phase, run, set, steps)?;
            return self.pump_dose(phase, value, steps);
        };
        match measure {
            ExpectMeasure::Volume => return self.volume_run(phase, run, spec, steps),
            ExpectMeasure::Time => {
                self.volume_run(phase, run, spec, steps)?;
                if matches!(run.setting, Setting::Time) && set.is_none() {
                    self.lengthened(phase, run, spec, steps)?;
                } else {
                    let flow = self.flow(phase, run, set, steps)?;
                    let volume = self.told(&run.volume, units::ML)?;
                    let time = self.quantity(value.at(self.x)?, units::H);
                    steps.push(format!("{volume} ÷ {flow} = {time}"));
                }
                return Some(());
            }
            _ => {}
        }
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref();
        if *measure == ExpectMeasure::Dose {
            self.bag(phase, steps)?;
        }
        let flow = self.flow(phase, run, set, steps)?;
        let giving_set = &self.order.phases.get(phase)?.giving_set;
        if let (ExpectMeasure::Drops, Some(giving_set)) = (measure, giving_set) {
            let drops = self.quantity(
                giving_set.value.drops.as_ref()?.0.clone(),
                units::DROPS_PER_ML,
            );
            let flow = brought(flow.clone(), units::ML_PER_MIN, steps);
            steps.push(format!("{flow} × {drops}"));
        }
        if let (ExpectMeasure::Dose, Some(drug)) = (measure, drug) {
            let strength = self.strength(phase, drug.strength_of(run.of_bag && set.is_none()))?;
            self.brings(&flow.to_string(), strength, value, steps);
        }
        Some(())
    }

    /// The steps to a run's exact flow, as it starts or at another setting;
    /// the flow in mL/h.
    pub(super) fn flow(
        &self,
        phase: usize,
        run: &Run,
        setting: Option<&Size>,
        steps: &mut Vec<String>,
    ) -> Option<StyledQuantity> {
        let spec = self.order.phases.get(phase)?.runs.get(run.index)?;
        let setting = setting.or(match &run.setting {
            Setting::Rate(size) => Some(size),
            Setting::Time => None,
        });
        let Some(setting) = setting else {
            self.volume_run(phase, run, spec, steps)?;
            let volume = run.volume.at(self.x)?;
            let written = written_time(spec)?;
            let flow = self.quantity(volume.checked_div(written)?, units::ML_PER_H);
            steps.push(over(&self.quantity(volume, units::ML), written, &flow));
            return self.cap_on_flow(flow, run, spec.dose_cap.as_ref(), steps);
        };
        if setting.form.drug().is_some() {
            self.bag(phase, steps)?;
        }
        self.volume(
            phase,
            setting,
            spec.dose_cap.as_ref(),
            units::ML_PER_H,
            steps,
        )
    }

    /// The steps to the volume that a run gives.
    fn volume_run(
        &self,
        phase: usize,
        run: &Run,
        spec: &RunSpec,
        steps: &mut Vec<String>,
    ) -> Option<()> {
        match &spec.what {
            Some(WhatSpec::All(_)) => self.left(phase, run.index, steps)?,
            Some(WhatSpec::Size(size, cap)) => {
                if size.form.drug().is_some() {
                    self.bag(phase, steps)?;
                }
                self.volume(phase, size, cap.as_ref(), units::ML, steps)?;
            }
            None => {
                let flow = self.flow(phase, run, None, steps)?;
                let time = self.time(written_time(spec)?.clone());
                let hours = factors(time.unit, units::H, self.style);
                let volume = self.told(&run.volume, units::ML)?;
                steps.push(format!("{flow} × {time}{hours} = {volume}"));
            }
        }
        Some(())
    }

    /// The time of a run set by a time: longer than that where a cap on the
    /// dose binds.
    fn lengthened(
        &self,
        phase: usize,
        run: &Run,
        spec: &RunSpec,
        steps: &mut Vec<String>,
    ) -> Option<()> {
        if run.flow_cap.is_some() {
            let flow = self.flow(phase, run, None, steps)?;
            let volume = self.told(&run.volume, units::ML)?;
            let time = self.told(&run.time, units::H)?;
            steps.push(format!("{volume} ÷ {flow} = {time}"));
        } else {
            let time = self.time(written_time(spec)?.clone());
            steps.push(format!("over {time}, as the line says"));
        }
        Some(())
    }

    /// The steps to the volume (or volume per time) that a size makes with the
    /// bag, its cap applied; that volume.
    pub(super) fn volume(
        &self,
        phase: usize,
        size: &Size,
        cap: Option<&Size>,
        unit: Unit,
        steps: &mut Vec<String>,
    ) -> Option<StyledQuantity> {
        let alike = cap.filter(|cap| cap.form.stuff == size.form.stuff);
        let whole = self.whole(size, steps)?;
        let whole = self.cap(whole, alike, steps)?;
        let makes = |size: &Size| self.view.volume_of(self.order, phase, size)?.at(self.x);
        let mut base = makes(size)?;
        if let Some(cap) = alike {
            base = base.min(makes(cap)?);
        }
        let volume = self.quantity(base, unit);
        match size.form.stuff {
            Stuff::Volume => {
                brought(whole, unit, steps);
            }
            Stuff::Drug(kind) => {
                let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
                let mut whole = whole;
                if kind != drug.kind {
                    let named = self.order.drug.as_ref().map(|drug| &*drug.value);
                    let factor = equivalence(named, kind, drug.kind)?;
                    let top = amount_unit(drug.kind).top;
                    let as_bag = self.quantity(&whole.base() * &factor, Unit { top, ..whole.unit });
                    steps.push(format!("{whole} = {as_bag}, as the drug's `equals` says"));
                    whole = as_bag;
                }
                let top = whole.unit.top;
                let whole = brought(whole, Unit { top, ..unit }, steps);
                let strength = self.strength(phase, &drug.strength)?;
                let strength = brought(strength, per_ml(Unit::new(top?)), steps);
                steps.push(format!("{whole} ÷ {strength} = {volume}"));
            }
            Stuff::Drops => {
                let set = self.order.phases.get(phase)?.giving_set.as_ref()?;
                let drops = self.quantity(set.value.drops.as_ref()?.0.clone(), units::DROPS_PER_ML);
                let per = self.quantity(
                    volume.base(),
                    Unit {
                        top: unit.top,
                        ..whole.unit
                    },
                );
                steps.push(format!("{whole} ÷ {drops} = {per}"));
                brought(per, unit, steps);
            }
        }
        match cap.filter(|cap| cap.form.stuff != size.form.stuff) {
            Some(cap) => Some(capped_at(volume, makes(cap)?, cap, steps)),
            None => Some(volume),
        }
    }

    /// A flow, or what its cap leaves of it.
    fn cap_on_flow(
        &self,
        flow: StyledQuantity,
        run: &Run,
        cap: Option<&Size>,
        steps: &mut Vec<String>,
    ) -> Option<StyledQuantity> {
        match (cap, &run.flow_cap) {
            (Some(cap), Some(bound)) => Some(capped_at(flow, bound.at(self.x)?, cap, steps)),
            _ => Some(flow),
        }
    }

    /// What is left for `all`: the bag less what has left it before.
    fn left(&self, phase: usize, run: usize, steps: &mut Vec<String>) -> Option<()> {
        let derived = self.view.phases.get(phase)?;
        let mut less = Vec::new();
        if let Some(prime) = &derived.prime {
            less.push(format!("{} primed", self.told(prime, units::ML)?));
        }
        for action in &derived.sequence {
            let (volume, what) = match *action {
                Action::Run(at) if at == run => break,
                Action::Run(at) => (&derived.runs.get(at)?.volume, "run before"),
                Action::Bolus(at) => (&derived.boluses.get(at)?.volume, "bolus"),
            };
            less.push(format!("{} {what}", self.told(volume, units::ML)?));
        }
        let bag = self.told(&derived.at_start, units::ML)?;
        steps.push(if less.is_empty() {
            format!("all of the {bag} in the bag")
        } else {
            format!("{bag} in the bag, less {}", less.join(", less "))
        });
        Some(())
    }

    pub(super) fn bolus(&self, phase: usize, index: usize, steps: &mut Vec<String>) -> Option<()> {
        let spec = self.order.phases.get(phase)?.boluses.get(index)?;
        let derived = self.view.phases.get(phase)?.boluses.get(index)?;
        if spec.size.form.drug().is_some() {
            self.bag(phase, steps)?;
        }
        self.volume(phase, &spec.size, spec.cap.as_ref(), units::ML, steps)?;
        steps.push(over(
            &self.told(&derived.volume, units::ML)?,
            &derived.time.at(self.x)?,
            &self.told(&derived.flow, units::ML_PER_H)?,
        ));
        Some(())
    }

    /// The dose that the pump's flow gives, by the true strength.
    fn pump_dose(&self, phase: usize, value: &Value, steps: &mut Vec<String>) -> Option<()> {
        let ValueOf::PumpDose(pumped, _) = &value.value else {
            return None;
        };
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
        self.bag(phase, steps)?;
        if let Some(flow) = pumped.at(self.x) {
            let flow = format!(
                "{}, as the pump runs it,",
                self.quantity(flow, units::ML_PER_H)
            );
            let strength = self.strength(phase, &drug.true_strength)?;
            self.brings(&flow, strength, value, steps);
        }
        Some(())
    }

    /// What a flow brings of the drug or of a substance, in the value's unit.
    pub(super) fn brings(
        &self,
        flow: &str,
        strength: StyledQuantity,
        value: &Value,
        steps: &mut Vec<String>,
    ) {
        let top = value.unit.top.unwrap_or(Atom::Mg);
        let strength = brought(strength, per_ml(Unit::new(top)), steps);
        let spread = self.spread(value);
        let time = factors(Unit::over(top, Atom::H), value.unit, self.style);
        steps.push(format!("{flow} × {strength}{spread}{time}"));
    }

    /// ` ÷ 70 kg`, for a value that is per kg or m2 of the patient.
    pub(super) fn spread(&self, value: &Value) -> String {
        let form = crate::model::size::Form::of(value.unit.dimension());
        let size = form.map(|form| Size {
            value: Exact::ONE,
            form,
            unit: value.unit,
            decimals: 0,
            span: value.span,
        });
        let patient = size.and_then(|size| self.patient(&size));
        patient.map_or_else(String::new, |patient| format!(" ÷ {patient}"))
    }
}

/// The unit of a strength.
pub(super) fn per_ml(amount: Unit) -> Unit {
    Unit::over(amount.top.unwrap_or(Atom::Mg), Atom::ML)
}

/// `100 mL ÷ 30 min × 60 min/h = 200 mL/h`.
fn over(volume: &StyledQuantity, minutes: &Exact, flow: &StyledQuantity) -> String {
    let time = spoken(minutes.clone(), flow.style);
    let per = |unit: Unit| Unit::over(Atom::ML, unit.top.unwrap_or(Atom::H));
    let factors = factors(per(time.unit), units::ML_PER_H, flow.style);
    format!("{volume} ÷ {time}{factors} = {flow}")
}

fn written_time(spec: &RunSpec) -> Option<&Exact> {
    spec.ways.iter().find_map(|way| match way {
        WaySpec::Over(time) => Some(&time.value),
        WaySpec::At(_) => None,
    })
}

/// A volume (or volume per time), or the one that its cap makes where that is
/// less.
fn capped_at(
    stated: StyledQuantity,
    bound: Exact,
    cap: &Size,
    steps: &mut Vec<String>,
) -> StyledQuantity {
    if stated.base() <= bound {
        return stated;
    }
    let capped = stated.like(bound);
    steps.push(format!(
        "at most {}: {capped} instead of {stated}",
        stated.style.quantity(&cap.quantity())
    ));
    capped
}
