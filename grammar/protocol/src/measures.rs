//! The derived values of an order under the names that `expect` uses. A hint,
//! a hover, a sheet and a worked example all read these.

use gutta_notation::Span;
use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Dimension, Exact, Unit, units};

use crate::curve::Curve;
use crate::derive::{At, Endless, Setting, View};
use crate::model::order::Order;
use crate::model::reference::Pump;
use crate::model::size::{DrugKind, Form, Size, Stuff};
use crate::pump::{FlowBounds, pump_flow};

/// The length of a day in base units of time.
#[must_use]
pub fn day() -> Exact {
    units::DAYS.factor()
}

/// One derived value, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Value {
    /// What it is.
    pub measure: ExpectMeasure,
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
    /// An exact flow as the pump runs it.
    Pump {
        /// The exact flow.
        flow: Curve,
        /// The pump.
        pump: std::sync::Arc<Pump>,
        /// What rounding must not pass.
        bounds: Box<FlowBounds>,
    },
    /// It grows without end.
    WithoutEnd,
}

impl Value {
    /// The value for one patient, in base units. `None` where the pump cannot
    /// run the flow, the patient is not covered, or there is no end.
    #[must_use]
    pub fn at(&self, x: &Exact) -> Option<Exact> {
        match &self.value {
            ValueOf::Exact(curve) => curve.at(x),
            ValueOf::Pump { flow, pump, bounds } => pump_flow(pump, &flow.at(x)?, &bounds.at(x)),
            ValueOf::WithoutEnd => None,
        }
    }

    /// The exact function, where it is one.
    #[must_use]
    pub fn curve(&self) -> Option<&Curve> {
        match &self.value {
            ValueOf::Exact(curve) => Some(curve),
            ValueOf::Pump { .. } | ValueOf::WithoutEnd => None,
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
                let time = match question.dose {
                    None => derived.time.clone(),
                    Some(_) => derived
                        .volume
                        .div(&measures.flow(phase, run, question.dose)?)?,
                };
                Some((time, units::H))
            }),
            ExpectMeasure::Volume => self.of_runs(question, |measures, phase, run| {
                Some((measures.run(phase, run)?.volume.clone(), units::ML))
            }),
            ExpectMeasure::Dose => self.of_runs(question, |measures, phase, run| {
                let flow = measures.flow(phase, run, question.dose)?;
                let drug = measures.view.phases.get(phase)?.bag.drug.as_ref()?;
                let dose = flow.mul(&drug.strength)?;
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

    /// The exact flow of a run, as it starts or at another setting.
    #[must_use]
    pub fn flow(&self, phase: usize, run: usize, dose: Option<&Size>) -> Option<Curve> {
        let derived = self.run(phase, run)?;
        match dose {
            None => Some(derived.flow.clone()),
            Some(dose) => self.view.flow_at(self.order, phase, derived, dose),
        }
    }

    /// The unit of a run's dose: as set, else as the drug is dosed, else drug
    /// per hour.
    #[must_use]
    pub fn dose_unit(&self, phase: usize, run: usize) -> Option<Unit> {
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
        if let Setting::Rate(size) = &self.run(phase, run)?.setting {
            if size.form.drug().is_some() {
                return Some(size.unit);
            }
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

    fn of_runs(
        &self,
        question: &Question<'_>,
        value: impl Fn(&Self, usize, usize) -> Option<(Curve, Unit)>,
    ) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, derived) in self.view.phases.iter().enumerate() {
            for (run, of) in derived.runs.iter().enumerate() {
                let Some((curve, unit)) = value(self, phase, run) else {
                    continue;
                };
                let Some((curve, unit)) = self.like(curve, unit, question.unit) else {
                    continue;
                };
                values.push(Value {
                    measure: question.measure.clone(),
                    per_day: question.per_day,
                    phase: Some(phase),
                    run: Some(run),
                    bolus: None,
                    span: of.span,
                    unit,
                    value: ValueOf::Exact(curve),
                });
            }
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
            let phase = value.phase?;
            let pump = self.order.phases.get(phase)?.pump.as_ref()?.value.clone();
            let run = self.run(phase, value.run?)?;
            let bounds = Box::new(FlowBounds::of(self.order, self.view, phase, run));
            let ValueOf::Exact(flow) = value.value else {
                return None;
            };
            let whole = value.unit.dimension().is_flow()
                && Form::of(value.unit.dimension())?.per == crate::model::size::Per::Patient;
            whole.then_some(Value {
                value: ValueOf::Pump { flow, pump, bounds },
                ..value
            })
        });
        as_run.collect()
    }

    fn bag_span(&self, phase: usize) -> Span {
        let spec = self
            .order
            .phases
            .get(phase)
            .and_then(|phase| phase.bag.as_ref());
        spec.map_or(self.order.header, |bag| bag.span)
    }

    fn strengths(&self, question: &Question<'_>) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, derived) in self
            .view
            .phases
            .iter()
            .enumerate()
            .filter(|(_, derived)| derived.fresh)
        {
            let Some(drug) = &derived.bag.drug else {
                continue;
            };
            let curve = match question.measure {
                ExpectMeasure::TrueStrength => &drug.true_strength,
                _ => &drug.strength,
            };
            let named = self.order.drug.as_ref().map(|drug| &*drug.value);
            let (curve, unit) = match question.unit {
                None => (curve.clone(), strength_unit(drug.kind, curve)),
                Some(unit) => {
                    let kind = Form::of(unit.dimension().plus(Dimension::VOLUME))
                        .and_then(|form| form.drug());
                    let factor =
                        kind.and_then(|kind| crate::derive::equivalence(named, drug.kind, kind));
                    let Some(factor) = factor.filter(|_| unit.dimension().is_strength()) else {
                        continue;
                    };
                    (curve.scale(&factor), unit)
                }
            };
            values.push(Value {
                measure: question.measure.clone(),
                per_day: false,
                phase: Some(phase),
                run: None,
                bolus: None,
                span: self.bag_span(phase),
                unit,
                value: ValueOf::Exact(curve),
            });
        }
        values
    }

    fn draws(&self, question: &Question<'_>) -> Vec<Value> {
        let drawn = self
            .view
            .phases
            .iter()
            .enumerate()
            .filter(|(_, derived)| derived.fresh)
            .filter_map(|(phase, derived)| {
                let draw = derived.bag.drug.as_ref()?.draw.clone()?;
                let (draw, unit) = self.like(draw, units::ML, question.unit)?;
                Some(Value {
                    measure: ExpectMeasure::Draw,
                    per_day: false,
                    phase: Some(phase),
                    run: None,
                    bolus: None,
                    span: self.bag_span(phase),
                    unit,
                    value: ValueOf::Exact(draw),
                })
            });
        drawn.collect()
    }

    /// A bolus is a volume or an amount of drug, by the unit asked for; both
    /// where none is.
    fn boluses(&self, question: &Question<'_>) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, derived) in self.view.phases.iter().enumerate() {
            for (index, bolus) in derived.boluses.iter().enumerate() {
                let value = |curve: Curve, unit: Unit| Value {
                    measure: question.measure.clone(),
                    per_day: false,
                    phase: Some(phase),
                    run: None,
                    bolus: Some(index),
                    span: bolus.span,
                    unit,
                    value: ValueOf::Exact(curve),
                };
                if *question.measure == ExpectMeasure::BolusTime {
                    let time = self.like(bolus.time.clone(), units::MIN, question.unit);
                    values.extend(time.map(|(curve, unit)| value(curve, unit)));
                    continue;
                }
                let volume = self.like(bolus.volume.clone(), units::ML, question.unit);
                values.extend(volume.map(|(curve, unit)| value(curve, unit)));
                let kind = derived.bag.drug.as_ref().map(|drug| drug.kind);
                let unit = question.unit.or_else(|| kind.map(amount_unit));
                let form = unit
                    .and_then(|unit| Form::of(unit.dimension()))
                    .filter(|form| form.drug().is_some() && !form.rate);
                if let (Some(nominal), Some(form), Some(unit)) = (&bolus.nominal, form, unit) {
                    let amount = self.view.drug_in_form(self.order, phase, nominal, form);
                    values.extend(amount.map(|curve| value(curve, unit)));
                }
            }
        }
        values
    }

    /// The value of the whole order: at the first setting.
    fn whole(&self, question: &Question<'_>, unit: Unit, value: ValueOf, per_day: bool) -> Value {
        Value {
            measure: question.measure.clone(),
            per_day,
            phase: None,
            run: None,
            bolus: None,
            span: self.order.header,
            unit,
            value,
        }
    }

    /// A total over the order or in a day; a unit per time asks for the day's.
    fn total(&self, question: &Question<'_>) -> Option<Value> {
        let totals = self.view.totals(self.order, At::Start)?;
        let first = self
            .view
            .phases
            .iter()
            .position(|phase| phase.bag.drug.is_some())?;
        let kind = self.view.phases.get(first)?.bag.drug.as_ref()?.kind;
        let unit = question.unit.unwrap_or_else(|| amount_unit(kind));
        let form = Form::of(unit.dimension()).filter(|form| form.drug().is_some())?;
        let per_day = question.per_day || form.rate;
        let sum = if per_day {
            let sum = totals.drug_in(self.order, self.view, &day())?;
            if form.rate {
                sum.scale(&day().recip()?)
            } else {
                sum
            }
        } else {
            match totals.drug(self.order, self.view)? {
                Endless::Ends(sum) => sum,
                Endless::WithoutEnd => {
                    return Some(self.whole(question, unit, ValueOf::WithoutEnd, false));
                }
            }
        };
        let value = self.view.drug_in_form(self.order, first, &sum, form)?;
        Some(self.whole(question, unit, ValueOf::Exact(value), per_day))
    }

    fn fluid(&self, question: &Question<'_>) -> Option<Value> {
        let totals = self.view.totals(self.order, At::Start)?;
        let unit = question.unit.unwrap_or(units::ML);
        let form = Form::of(unit.dimension()).filter(|form| form.stuff == Stuff::Volume)?;
        let per_day = question.per_day || form.rate;
        let sum = if per_day {
            let sum = totals.fluid_in(self.view, &day())?;
            if form.rate {
                sum.scale(&day().recip()?)
            } else {
                sum
            }
        } else {
            match totals.fluid(self.view)? {
                Endless::Ends(sum) => sum,
                Endless::WithoutEnd => {
                    return Some(self.whole(question, unit, ValueOf::WithoutEnd, false));
                }
            }
        };
        let value = sum.div(&self.view.patients.factor(form)?)?;
        Some(self.whole(question, unit, ValueOf::Exact(value), per_day))
    }

    /// The substances that the order's bags bring, with what each is counted
    /// in.
    #[must_use]
    pub fn substances(&self) -> Vec<(smol_str::SmolStr, DrugKind)> {
        let mut substances = Vec::new();
        for phase in 0..self.view.phases.len() {
            for content in self.view.contents(self.order, phase).unwrap_or_default() {
                let substance = (content.substance, content.kind);
                if !substances.contains(&substance) {
                    substances.push(substance);
                }
            }
        }
        substances
    }

    /// A substance: in a bag (a strength), per time of a run, per day, or in
    /// all, as the unit asks.
    fn substance(&self, question: &Question<'_>, name: &str) -> Vec<Value> {
        let kinds: Vec<DrugKind> = self
            .substances()
            .into_iter()
            .filter(|(substance, _)| substance == name)
            .map(|(_, kind)| kind)
            .collect();
        let mut values = Vec::new();
        for kind in kinds {
            let unit = question.unit.unwrap_or_else(|| amount_unit(kind));
            let dimension = unit.dimension();
            if dimension.plus(Dimension::VOLUME) == kind.dimension() {
                values.extend(self.substance_strengths(question, name, kind, unit));
                continue;
            }
            let Some(form) = Form::of(dimension).filter(|form| form.drug() == Some(kind)) else {
                continue;
            };
            let per_patient = |curve: Curve| {
                curve.div(&self.view.patients.factor(Form {
                    stuff: Stuff::Volume,
                    ..form
                })?)
            };
            if form.rate {
                for (phase, derived) in self.view.phases.iter().enumerate() {
                    let content = self.view.contents(self.order, phase).unwrap_or_default();
                    let content = content
                        .into_iter()
                        .find(|content| content.substance == name && content.kind == kind);
                    let Some(content) = content else { continue };
                    for (run, of) in derived.runs.iter().enumerate() {
                        let flow = self.flow(phase, run, question.dose);
                        let rate = flow
                            .and_then(|flow| flow.mul(&content.per_volume))
                            .and_then(per_patient);
                        values.extend(rate.map(|curve| Value {
                            measure: question.measure.clone(),
                            per_day: false,
                            phase: Some(phase),
                            run: Some(run),
                            bolus: None,
                            span: of.span,
                            unit,
                            value: ValueOf::Exact(curve),
                        }));
                    }
                }
                continue;
            }
            let Some(totals) = self.view.totals(self.order, At::Start) else {
                continue;
            };
            let sum = if question.per_day {
                totals
                    .substance_in(self.order, self.view, name, kind, &day())
                    .map(Endless::Ends)
            } else {
                totals.substance(self.order, self.view, name, kind)
            };
            let value = match sum {
                Some(Endless::Ends(sum)) => per_patient(sum).map(ValueOf::Exact),
                Some(Endless::WithoutEnd) => Some(ValueOf::WithoutEnd),
                None => None,
            };
            values.extend(value.map(|value| self.whole(question, unit, value, question.per_day)));
        }
        values
    }

    fn substance_strengths(
        &self,
        question: &Question<'_>,
        name: &str,
        kind: DrugKind,
        unit: Unit,
    ) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, _) in self
            .view
            .phases
            .iter()
            .enumerate()
            .filter(|(_, derived)| derived.fresh)
        {
            let contents = self.view.contents(self.order, phase).unwrap_or_default();
            let content = contents
                .into_iter()
                .find(|content| content.substance == name && content.kind == kind);
            values.extend(content.map(|content| Value {
                measure: question.measure.clone(),
                per_day: false,
                phase: Some(phase),
                run: None,
                bolus: None,
                span: self.bag_span(phase),
                unit,
                value: ValueOf::Exact(content.per_volume),
            }));
        }
        values
    }

    /// Every derived value, in the order in which an author meets them.
    #[must_use]
    pub fn all(&self) -> Vec<Value> {
        use ExpectMeasure as M;
        let ask = |measure: &M, per_day: bool| {
            self.answer(&Question {
                measure,
                per_day,
                dose: None,
                unit: None,
            })
        };
        let mut values = Vec::new();
        let of_phases = [
            M::Strength,
            M::TrueStrength,
            M::Draw,
            M::Bolus,
            M::BolusTime,
            M::Flow,
            M::PumpFlow,
            M::Drops,
            M::Time,
            M::Volume,
            M::Dose,
        ];
        for measure in of_phases {
            if measure == M::TrueStrength
                && !self.view.phases.iter().any(|phase| phase.bag.is_counted)
            {
                continue;
            }
            values.extend(ask(&measure, false));
        }
        values.sort_by_key(|value| value.phase);
        for measure in [M::Total, M::Fluid] {
            for per_day in [false, true] {
                values.extend(
                    ask(&measure, per_day)
                        .into_iter()
                        .filter(|value| value.value != ValueOf::WithoutEnd),
                );
            }
        }
        let mut names: Vec<_> = self
            .substances()
            .into_iter()
            .map(|(name, _)| name)
            .collect();
        names.dedup();
        for name in names {
            let measure = M::Substance(name);
            for per_day in [false, true] {
                values.extend(
                    ask(&measure, per_day)
                        .into_iter()
                        .filter(|value| value.value != ValueOf::WithoutEnd),
                );
            }
        }
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
