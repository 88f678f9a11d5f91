//! The derived values of an order under the names that `expect` uses. A hint,
//! a hover, a sheet and a worked example all read these.

mod bags;
mod groups;
mod measure;
mod substances;
mod told;
mod totals;
mod unnamed;

use gutta_notation::Span;
use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Exact, Unit, units};

pub use groups::{Group, WHY_NOTHING, gather, patients, staying};
pub use measure::{Measure, measure_name};
pub use told::{NOTHING, Reach, Spot, ends, reach};

use crate::curve::Curve;
use crate::derive::{Setting, View};
use crate::model::order::Order;
use crate::model::reference::Pump;
use crate::model::size::{DrugKind, Form, Size};
use crate::pump::{FlowBounds, pump_flow};

/// One derived value, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Value {
    /// What it is.
    pub measure: Measure,
    /// Whether it is taken per day.
    pub per_day: bool,
    /// In which phase; `None`: of the whole order.
    pub phase: Option<usize>,
    /// Of which run of the phase.
    pub run: Option<usize>,
    /// Of which bolus of the phase.
    pub bolus: Option<usize>,
    /// The line that it follows from.
    pub span: Span,
    /// The unit it is best shown in; its dimension is the value's.
    pub unit: Unit,
    /// The value in base units of `unit`'s dimension.
    pub value: ValueOf,
}

/// How a value is found for a patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ValueOf {
    /// An exact function.
    Exact(Curve),
    /// An exact function rounded up to the next whole number.
    Whole(Curve),
    /// A value for those patients for whom nothing is left.
    WhereNothing(Box<WhereNothing>),
    /// A flow as the pump runs it.
    Pump(Box<AsPumped>),
    /// The dose of a flow as the pump runs it: that flow times this.
    PumpDose(Box<AsPumped>, Curve),
    /// It grows without end.
    WithoutEnd,
}

/// A value for those patients alone for whom nothing is left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhereNothing {
    /// The value.
    pub value: Curve,
    /// What is left: none of it where there is a value.
    pub left: Curve,
}

/// A flow and the pump that runs it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AsPumped {
    /// The exact flow.
    pub flow: Curve,
    /// The pump.
    pub pump: std::sync::Arc<Pump>,
    /// What rounding must not pass.
    pub bounds: FlowBounds,
}

impl AsPumped {
    /// The flow that the pump runs, in base units; `None` where it cannot, or
    /// the patient is not covered.
    #[must_use]
    pub fn at(&self, x: &Exact) -> Option<Exact> {
        pump_flow(&self.pump, &self.flow.at(x)?, &self.bounds.at(x))
    }
}

impl Value {
    /// The value for one patient, in base units. `None` where the pump cannot
    /// run the flow, the bag does not run dry, the patient is not covered, or
    /// there is no end.
    #[must_use]
    pub fn at(&self, x: &Exact) -> Option<Exact> {
        match &self.value {
            ValueOf::Exact(curve) => curve.at(x),
            ValueOf::Whole(curve) => Some(curve.at(x)?.ceil()),
            ValueOf::WhereNothing(some) => {
                let none = !some.left.at(x)?.is_positive();
                none.then(|| some.value.at(x))?
            }
            ValueOf::Pump(pumped) => pumped.at(x),
            ValueOf::PumpDose(pumped, per_flow) => Some(&pumped.at(x)? * &per_flow.at(x)?),
            ValueOf::WithoutEnd => None,
        }
    }

    /// The exact function, where it is one.
    #[must_use]
    pub fn curve(&self) -> Option<&Curve> {
        match &self.value {
            ValueOf::Exact(curve) => Some(curve),
            _ => None,
        }
    }

    /// The ends of the range and every corner between at which it turns,
    /// rising. One place where it grows without end.
    #[must_use]
    pub fn turns(&self, view: &View) -> Vec<Exact> {
        match &self.value {
            ValueOf::Exact(curve) | ValueOf::Whole(curve) => curve.breaks(),
            ValueOf::WhereNothing(some) => {
                let mut all = some.value.breaks();
                all.extend(some.left.breaks());
                all.sort();
                all.dedup();
                all
            }
            ValueOf::Pump(pumped) | ValueOf::PumpDose(pumped, _) => pumped.flow.breaks(),
            ValueOf::WithoutEnd => vec![view.patients.interval.lo().clone()],
        }
    }

    /// Whether it is the same for every patient.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        match &self.value {
            ValueOf::Exact(curve) | ValueOf::Whole(curve) => curve.is_constant().is_some(),
            _ => false,
        }
    }
}

/// What is asked of an order.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The measure.
    pub measure: &'a ExpectMeasure,
    /// Per day.
    pub per_day: bool,
    /// At another setting than the first.
    pub dose: Option<&'a Size>,
    /// Counted like this unit: its dimension says whether a bolus is a volume
    /// or an amount, and per what of the patient. `None`: as is usual.
    pub unit: Option<Unit>,
}

impl Question<'_> {
    fn measure(&self) -> Measure {
        Measure::Expect(self.measure.clone())
    }
}

/// Answers questions about an order over the patients of one view.
#[derive(Clone, Copy)]
pub struct Measures<'a> {
    /// The order.
    pub order: &'a Order,
    /// The view.
    pub view: &'a View,
}

impl Measures<'_> {
    /// Every value that the question names: one for each run, bolus or bag
    /// that has the measure; none where nothing has.
    #[must_use]
    pub fn answer(&self, question: &Question<'_>) -> Vec<Value> {
        match question.measure {
            ExpectMeasure::Flow => self.of_runs(question, |measures, phase, run| {
                let flow = measures.flow(phase, run, question.dose)?;
                Some((flow, units::ML_PER_H))
            }),
            ExpectMeasure::PumpFlow => self.pump_flows(question),
            ExpectMeasure::Drops => self.of_runs(question, |measures, phase, run| {
                let flow = measures.flow(phase, run, question.dose)?;
                let set = measures.order.phases.get(phase)?.giving_set.as_ref()?;
                Some((
                    flow.scale(&set.value.drops.as_ref()?.0),
                    units::DROPS_PER_MIN,
                ))
            }),
            ExpectMeasure::Time => self.of_runs(question, |measures, phase, run| {
                let derived = measures.run(phase, run)?;
                let set = question.dose.is_some()
                    && measures.view.takes_setting(measures.order, phase, run);
                let time = if set {
                    let flow = measures.flow(phase, run, question.dose)?;
                    derived.volume.div(&flow)?
                } else {
                    derived.time.clone()
                };
                Some((time, units::H))
            }),
            ExpectMeasure::Volume => self.of_runs(question, |measures, phase, run| {
                Some((measures.run(phase, run)?.volume.clone(), units::ML))
            }),
            ExpectMeasure::Dose => self.of_runs(question, |measures, phase, run| {
                let flow = measures.flow(phase, run, question.dose)?;
                let drug = measures.view.phases.get(phase)?.bag.drug.as_ref()?;
                let dose = flow.mul(drug.strength_of(measures.is_of_bag(phase, run, question)))?;
                let unit = question.unit.or_else(|| measures.dose_unit(phase, run))?;
                let form =
                    Form::of(unit.dimension()).filter(|form| form.drug().is_some() && form.rate)?;
                Some((
                    measures
                        .view
                        .drug_in_form(measures.order, phase, &dose, form)?,
                    unit,
                ))
            }),
            ExpectMeasure::Strength | ExpectMeasure::TrueStrength => self.strengths(question),
            ExpectMeasure::Draw => self.draws(question),
            ExpectMeasure::Bolus | ExpectMeasure::BolusTime => self.boluses(question),
            ExpectMeasure::Total => self.total(question).into_iter().collect(),
            ExpectMeasure::Fluid => self.fluid(question).into_iter().collect(),
            ExpectMeasure::Substance(name) => self.substance(question, name),
        }
    }

    fn run(&self, phase: usize, run: usize) -> Option<&crate::derive::Run> {
        self.view.phases.get(phase)?.runs.get(run)
    }

    /// The exact flow of a run, as it starts or at another setting where it
    /// goes by that.
    #[must_use]
    pub fn flow(&self, phase: usize, run: usize, dose: Option<&Size>) -> Option<Curve> {
        self.view.flow_when_set(self.order, phase, run, dose)
    }

    /// The unit of a run's dose: as set, else as the drug is dosed, else drug
    /// per hour.
    #[must_use]
    pub fn dose_unit(&self, phase: usize, run: usize) -> Option<Unit> {
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
        if let Setting::Rate(size) = &self.run(phase, run)?.setting
            && size.form.drug().is_some()
        {
            return Some(size.unit);
        }
        let dosed_in = self
            .order
            .drug
            .as_ref()
            .and_then(|drug| drug.value.dosed_in);
        let fits = dosed_in.map(|(unit, _)| unit).filter(|unit| {
            let form = Form::of(unit.dimension()).filter(|form| form.rate);
            let factor = form.and_then(|form| self.view.patients.factor(form));
            factor.is_some()
        });
        fits.or_else(|| Unit::new(amount_unit(drug.kind).top?).per(gutta_quantity::Atom::H))
    }

    /// Whether a run's flow, at the setting asked for, is what is left in the
    /// bag over a time.
    fn is_of_bag(&self, phase: usize, run: usize, question: &Question<'_>) -> bool {
        let set = question.dose.is_some() && self.view.takes_setting(self.order, phase, run);
        !set && self.run(phase, run).is_some_and(|run| run.of_bag)
    }

    fn of_runs(
        &self,
        question: &Question<'_>,
        value: impl Fn(&Self, usize, usize) -> Option<(Curve, Unit)>,
    ) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, run) in self.view.runs() {
            let of_run = value(self, phase, run.index)
                .and_then(|(curve, unit)| self.like(curve, unit, question.unit));
            values.extend(of_run.map(|(curve, unit)| Value {
                measure: question.measure(),
                per_day: question.per_day,
                phase: Some(phase),
                run: Some(run.index),
                bolus: None,
                span: run.span,
                unit,
                value: ValueOf::Exact(curve),
            }));
        }
        values
    }

    /// A value of the whole patient, brought to the kind that is asked for:
    /// per kg or m2 of the patient where the unit says so.
    fn like(&self, curve: Curve, unit: Unit, asked: Option<Unit>) -> Option<(Curve, Unit)> {
        let Some(asked) = asked else {
            return Some((curve, unit));
        };
        if asked.commensurable(unit) {
            return Some((curve, asked));
        }
        let form = Form::of(asked.dimension())?;
        let per_patient = asked.dimension().without_patient() == unit.dimension();
        per_patient.then_some(())?;
        Some((curve.div(&self.view.patients.factor(form)?)?, asked))
    }

    fn pump_flows(&self, question: &Question<'_>) -> Vec<Value> {
        let exact = self.of_runs(question, |measures, phase, run| {
            Some((measures.flow(phase, run, question.dose)?, units::ML_PER_H))
        });
        let as_run = exact.into_iter().filter_map(|value| {
            let pumped = self.as_pumped(value.phase?, value.run?, question.dose)?;
            let whole = value.unit.dimension().is_flow()
                && Form::of(value.unit.dimension())?.per == crate::model::size::Per::Patient;
            whole.then_some(Value {
                value: ValueOf::Pump(Box::new(pumped)),
                ..value
            })
        });
        as_run.collect()
    }

    /// Every derived value, in the order in which an author meets them, as the
    /// order starts or at another setting.
    #[must_use]
    pub fn all(&self, dose: Option<&Size>) -> Vec<Value> {
        use ExpectMeasure as M;
        let ask = |measure: M| {
            self.answer(&Question {
                measure: &measure,
                per_day: false,
                dose,
                unit: None,
            })
        };
        let mut values = ask(M::Strength);
        if self.view.phases.iter().any(|phase| phase.bag.is_counted) {
            values.extend(ask(M::TrueStrength));
        }
        values.extend(ask(M::Draw));
        values.extend(self.containers());
        values.extend(self.diluents());
        for measure in [M::Bolus, M::BolusTime, M::Flow, M::PumpFlow, M::Drops] {
            values.extend(ask(measure));
        }
        for measure in [M::Time, M::Volume, M::Dose] {
            values.extend(ask(measure));
        }
        values.extend(self.pump_doses(dose));
        values.extend(self.runs_dry(dose));
        values.extend(self.bags_per_day(dose));
        values.sort_by_key(|value| value.phase);
        values.extend(self.all_totals(dose));
        values
    }
}

/// The everyday unit of an amount.
#[must_use]
pub const fn amount_unit(kind: DrugKind) -> Unit {
    match kind {
        DrugKind::Mass => units::MG,
        DrugKind::Amount => units::MMOL,
        DrugKind::Equivalents => units::MEQ,
        DrugKind::Activity => units::UNITS,
    }
}

/// The everyday unit of a strength: micrograms below 1 mg/mL.
#[must_use]
pub fn strength_unit(kind: DrugKind, strength: &Curve) -> Unit {
    match kind {
        DrugKind::Mass => {
            let least = strength.min_value().map(|least| least.value);
            if least.is_some_and(|least| least < Exact::ONE) {
                units::MCG_PER_ML
            } else {
                units::MG_PER_ML
            }
        }
        DrugKind::Amount => units::MMOL_PER_ML,
        DrugKind::Equivalents => units::MEQ_PER_ML,
        DrugKind::Activity => units::UNITS_PER_ML,
    }
}
