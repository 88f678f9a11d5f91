//! How a derived value comes about: every step, with its units.

mod bag;

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Atom, Exact, Quantity, Unit, units};

use crate::derive::{Run, Setting, Variable, View};
use crate::measures::{Value, ValueOf, amount_unit, day};
use crate::model::order::{Order, WhatSpec};
use crate::model::size::{Per, Size, Stuff};
use crate::pump::pump_flow;

/// Shows the steps to the values of one patient.
#[derive(Clone, Copy)]
pub struct Working<'a> {
    /// The order.
    pub order: &'a Order,
    /// The view.
    pub view: &'a View,
    /// The patient: a number of the view's variable.
    pub x: &'a Exact,
}

/// A number in base units, as a quantity in `unit`.
fn quantity(base: Exact, unit: Unit) -> Quantity {
    Quantity::from_base(base, unit)
}

impl Working<'_> {
    /// The steps to a value, the last of which is the value. Empty where the
    /// patient is not covered.
    #[must_use]
    pub fn steps(&self, value: &Value) -> Vec<String> {
        self.try_steps(value).unwrap_or_default()
    }

    fn try_steps(&self, value: &Value) -> Option<Vec<String>> {
        let mut steps = Vec::new();
        match (&value.measure, value.phase) {
            (
                ExpectMeasure::Strength | ExpectMeasure::TrueStrength | ExpectMeasure::Draw,
                Some(phase),
            ) => {
                self.bag(phase, &mut steps)?;
            }
            (
                ExpectMeasure::Flow
                | ExpectMeasure::PumpFlow
                | ExpectMeasure::Drops
                | ExpectMeasure::Time
                | ExpectMeasure::Volume
                | ExpectMeasure::Dose,
                Some(phase),
            ) => {
                let run = self.view.phases.get(phase)?.runs.get(value.run?)?;
                self.run(phase, run, value, &mut steps)?;
            }
            (ExpectMeasure::Bolus | ExpectMeasure::BolusTime, Some(phase)) => {
                self.bolus(phase, value.bolus?, &mut steps)?;
            }
            (ExpectMeasure::Total | ExpectMeasure::Fluid, _) => self.total(value, &mut steps)?,
            _ => {}
        }
        steps.push(self.result(value)?);
        Some(steps)
    }

    /// The value itself, named.
    fn result(&self, value: &Value) -> Option<String> {
        let name = measure_name(&value.measure);
        let per_day = if value.per_day { " per day" } else { "" };
        match &value.value {
            ValueOf::Exact(curve) => Some(format!(
                "{name} {}{per_day}",
                quantity(curve.at(self.x)?, value.unit)
            )),
            ValueOf::WithoutEnd => Some(format!("{name}: grows without end")),
            ValueOf::Pump { flow, pump, bounds } => {
                let exact = flow.at(self.x)?;
                let from = quantity(exact.clone(), value.unit);
                Some(match pump_flow(pump, &exact, &bounds.at(self.x)) {
                    Some(set) if set == exact => {
                        format!("{name} {from}, which the pump can be set to exactly")
                    }
                    Some(set) => {
                        let way = if set < exact { "down" } else { "up" };
                        format!(
                            "{name} {}, rounded {way} from {from} to the pump's step",
                            quantity(set, value.unit)
                        )
                    }
                    None => format!("{name}: none, the pump cannot run {from}"),
                })
            }
        }
    }

    /// `60 kg`, `1.8 m2`: what a size per this is multiplied by, with the cap
    /// on the dosing weight where it binds.
    fn patient(&self, size: &Size) -> Option<String> {
        let factor = self.view.patients.factor(size.form)?.at(self.x)?;
        Some(match size.form.per {
            Per::Patient => return None,
            Per::Surface => quantity(factor, units::M2).to_string(),
            Per::Weight => {
                let weight = Quantity::new(factor.clone(), units::KG);
                let actual = self.view.patients.weight.as_ref()?.at(self.x)?;
                if actual == factor {
                    weight.to_string()
                } else {
                    format!(
                        "{weight} (the dosing weight, of {})",
                        Quantity::new(actual, units::KG)
                    )
                }
            }
        })
    }

    /// `0.06 mcg/kg/min × 70 kg = 4.2 mcg/min`; nothing for a size that is for
    /// the whole patient. Returns the whole size.
    fn whole(&self, size: &Size, steps: &mut Vec<String>) -> Option<Quantity> {
        let whole = self.view.patients.whole(size)?.at(self.x)?;
        let unit = without_patient(size.unit);
        let product = quantity(whole, unit);
        if let Some(patient) = self.patient(size) {
            steps.push(format!("{} × {patient} = {product}", size.quantity()));
        }
        Some(product)
    }

    fn lid(
        &self,
        stated: Quantity,
        lid: Option<&Size>,
        steps: &mut Vec<String>,
    ) -> Option<Quantity> {
        let Some(lid) = lid else { return Some(stated) };
        let bound = self.view.patients.whole(lid)?.at(self.x)?;
        if stated.base() > bound {
            let capped = quantity(bound, stated.unit);
            steps.push(format!(
                "at most {}: {capped} instead of {stated}",
                lid.quantity()
            ));
            return Some(capped);
        }
        Some(stated)
    }

    /// The volume (or volume per time) that a size makes with the bag.
    fn volume(
        &self,
        phase: usize,
        size: &Size,
        lid: Option<&Size>,
        unit: Unit,
        steps: &mut Vec<String>,
    ) -> Option<()> {
        let whole = self.whole(size, steps)?;
        let whole = self.lid(whole, lid, steps)?;
        match size.form.stuff {
            Stuff::Volume => {}
            Stuff::Drug(_) => {
                let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
                let strength = drug.strength.at(self.x)?;
                let top = amount_unit(drug.kind).top?;
                let volume = quantity(
                    self.view.volume_of(self.order, phase, size)?.at(self.x)?,
                    unit,
                );
                let strength = quantity(strength, Unit::over(top, Atom::ML));
                if lid.is_none() {
                    steps.push(format!("{whole} ÷ {strength} = {volume}"));
                } else {
                    steps.push(format!("{whole} ÷ {strength}"));
                }
            }
            Stuff::Drops => {
                let set = self.order.phases.get(phase)?.giving_set.as_ref()?;
                let drops = quantity(set.value.drops.as_ref()?.0.clone(), units::DROPS_PER_ML);
                let volume = quantity(
                    self.view.volume_of(self.order, phase, size)?.at(self.x)?,
                    unit,
                );
                steps.push(format!("{whole} ÷ {drops} = {volume}"));
            }
        }
        Some(())
    }

    fn run(&self, phase: usize, run: &Run, value: &Value, steps: &mut Vec<String>) -> Option<()> {
        let spec = self.order.phases.get(phase)?.runs.get(run.index)?;
        let by_drug = matches!(&run.setting, Setting::Rate(size) if size.form.drug().is_some())
            || matches!(&spec.what, Some(WhatSpec::Size(size, _)) if size.form.drug().is_some())
            || value.measure == ExpectMeasure::Dose;
        if by_drug {
            self.bag(phase, steps)?;
        }
        let volume = quantity(run.volume.at(self.x)?, units::ML);
        match &spec.what {
            Some(WhatSpec::All(_)) => self.left(phase, steps)?,
            Some(WhatSpec::Size(size, lid)) => {
                self.volume(phase, size, lid.as_ref(), units::ML, steps)?
            }
            None => {}
        }
        let flow = quantity(run.flow.at(self.x)?, units::ML_PER_H);
        let time = quantity(run.time.at(self.x)?, units::MIN);
        match &run.setting {
            Setting::Rate(size) => {
                self.volume(phase, size, spec.dose_lid.as_ref(), units::ML_PER_H, steps)?;
                if value.measure == ExpectMeasure::Time {
                    steps.push(format!("{volume} ÷ {flow} = {time}"));
                }
            }
            Setting::Time => steps.push(format!("{volume} ÷ {time} = {flow}")),
        }
        if let (ExpectMeasure::Drops, Some(set)) =
            (&value.measure, &self.order.phases.get(phase)?.giving_set)
        {
            let drops = quantity(set.value.drops.as_ref()?.0.clone(), units::DROPS_PER_ML);
            steps.push(format!(
                "{} × {drops}",
                quantity(run.flow.at(self.x)?, units::ML_PER_MIN)
            ));
        }
        if let (ExpectMeasure::Dose, Some(drug)) =
            (&value.measure, &self.view.phases.get(phase)?.bag.drug)
        {
            let top = amount_unit(drug.kind).top?;
            let strength = quantity(drug.strength.at(self.x)?, Unit::over(top, Atom::ML));
            steps.push(format!("{flow} × {strength}"));
        }
        Some(())
    }

    /// What is left for `all`: the bag less what has left it before.
    fn left(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let derived = self.view.phases.get(phase)?;
        let in_mls =
            |curve: &crate::curve::Curve| Some(quantity(curve.at(self.x)?, units::ML).to_string());
        let mut less = Vec::new();
        if let Some(prime) = &derived.prime {
            less.push(format!("{} primed", in_mls(prime)?));
        }
        for bolus in &derived.boluses {
            less.push(format!("{} bolus", in_mls(&bolus.volume)?));
        }
        if !less.is_empty() {
            steps.push(format!(
                "{} in the bag, less {}",
                in_mls(&derived.at_start)?,
                less.join(", less ")
            ));
        }
        Some(())
    }

    fn bolus(&self, phase: usize, index: usize, steps: &mut Vec<String>) -> Option<()> {
        let spec = self.order.phases.get(phase)?.boluses.get(index)?;
        let derived = self.view.phases.get(phase)?.boluses.get(index)?;
        if spec.size.form.drug().is_some() {
            self.bag(phase, steps)?;
        }
        self.volume(phase, &spec.size, spec.lid.as_ref(), units::ML, steps)?;
        let volume = quantity(derived.volume.at(self.x)?, units::ML);
        let time = quantity(derived.time.at(self.x)?, units::MIN);
        steps.push(format!(
            "{volume} over {time} = {}",
            quantity(derived.flow.at(self.x)?, units::ML_PER_H)
        ));
        Some(())
    }

    /// What is given, one line a stretch.
    fn total(&self, value: &Value, steps: &mut Vec<String>) -> Option<()> {
        let totals = self.view.totals(self.order, crate::derive::At::Start)?;
        for given in &totals.schedule.given {
            let flow = quantity(given.flow.at(self.x)?, units::ML_PER_H);
            let start = quantity(given.start.at(self.x)?, units::MIN);
            let lasts = match &given.time {
                Some(time) => format!("for {}", quantity(time.at(self.x)?, units::MIN)),
                None => "without end".to_owned(),
            };
            let every = match &given.every {
                Some((interval, _)) => format!(", every {}", quantity(interval.clone(), units::H)),
                None => String::new(),
            };
            steps.push(format!("{flow} {lasts}, from {start} on{every}"));
        }
        if value.per_day {
            steps.push(format!("the most in any {}", quantity(day(), units::H)));
        }
        Some(())
    }
}

/// `mcg/min` of `mcg/kg/min`.
fn without_patient(unit: Unit) -> Unit {
    let mut below = unit
        .below()
        .filter(|atom| !matches!(atom, Atom::Kg | Atom::G | Atom::M2));
    Unit {
        top: unit.top,
        per: [below.next(), below.next()],
    }
}

/// The name of a measure, as `expect` writes it.
#[must_use]
pub fn measure_name(measure: &ExpectMeasure) -> &str {
    match measure {
        ExpectMeasure::Flow => "flow",
        ExpectMeasure::PumpFlow => "pump flow",
        ExpectMeasure::Strength => "strength",
        ExpectMeasure::TrueStrength => "true strength",
        ExpectMeasure::Drops => "drops",
        ExpectMeasure::Time => "time",
        ExpectMeasure::Dose => "dose",
        ExpectMeasure::Bolus => "bolus",
        ExpectMeasure::BolusTime => "bolus time",
        ExpectMeasure::Draw => "draw",
        ExpectMeasure::Total => "total",
        ExpectMeasure::Volume => "volume",
        ExpectMeasure::Fluid => "fluid",
        ExpectMeasure::Substance(name) => name,
    }
}

impl View {
    /// How the patients of this view are told apart, in words.
    #[must_use]
    pub const fn variable_word(&self) -> &'static str {
        match self.patients.variable {
            Variable::Weight => "weight",
            Variable::Surface => "body surface",
            Variable::Nothing => "patient",
        }
    }
}
