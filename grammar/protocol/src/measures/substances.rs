//! Electrolytes, glucose and the like.

use gutta_quantity::{Dimension, Exact, Unit, units};

use super::{Measures, Question, Value, ValueOf, amount_unit};
use crate::curve::Curve;
use crate::delivery::{Counted, Endless};
use crate::derive::{self, day};
use crate::model::order::Phase;
use crate::model::reference::ContainedSubstance;
use crate::model::size::{DrugKind, Form, Stuff};

impl Measures<'_> {
    /// What a phase's bag brings of a substance.
    fn in_bag(&self, phase: usize, name: &str, kind: DrugKind) -> Option<derive::BagContent> {
        let contents = self.view.contents_of(self.order, phase, name)?;
        contents.into_iter().find(|content| content.kind == kind)
    }

    /// In what a substance is counted, in each way once.
    fn kinds_of(&self, name: &str) -> Vec<DrugKind> {
        let mut kinds = Vec::new();
        let mut add = |kind| {
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
        };
        for (phase, spec) in self.order.phases.iter().enumerate() {
            let in_bag = self.view.contents_of(self.order, phase, name);
            for content in in_bag.unwrap_or_default() {
                add(content.kind);
            }
            let beside = beside_the_bag(spec);
            beside
                .filter(|content| content.substance == name)
                .for_each(|content| add(content.kind));
        }
        kinds
    }

    /// A substance: in a bag (a strength), per time of a run, per day, or in
    /// all, as the unit asks.
    pub(super) fn substance(&self, question: &Question<'_>, name: &str) -> Vec<Value> {
        let kinds = self.kinds_of(name);
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
                    let content = self.in_bag(phase, name, kind);
                    let Some(content) = content else { continue };
                    for (run, of) in derived.runs.iter().enumerate() {
                        let flow = self.flow(phase, run, question.dose);
                        let rate = flow
                            .and_then(|flow| flow.mul(&content.per_volume))
                            .and_then(per_patient);
                        values.extend(rate.map(|curve| Value {
                            measure: question.measure(),
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
            let Some(delivery) = self.delivery_of(question) else {
                continue;
            };
            let counted = Counted::Substance(name, kind);
            let sum = if question.per_day {
                delivery.most_in(counted, &day()).map(Endless::Ends)
            } else {
                delivery.all(counted)
            };
            let value = match sum {
                Some(Endless::Ends(sum)) => per_patient(sum).map(ValueOf::Exact),
                Some(Endless::WithoutEnd) => Some(ValueOf::WithoutEnd),
                None => None,
            };
            values.extend(value.map(|value| {
                let unit = in_grams(question, unit, &value);
                self.whole(question, unit, value, question.per_day)
            }));
        }
        values
    }

    pub(super) fn substance_strengths(
        &self,
        question: &Question<'_>,
        name: &str,
        kind: DrugKind,
        unit: Unit,
    ) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, _) in self.view.bags() {
            let content = self.in_bag(phase, name, kind);
            values.extend(content.map(|content| {
                let strength = ValueOf::Exact(content.per_volume);
                self.of_bag(question.measure(), phase, unit, strength)
            }));
        }
        values
    }
}

/// What is in the flushes of a phase, and in what keeps the vein open.
fn beside_the_bag(spec: &Phase) -> impl Iterator<Item = &ContainedSubstance> {
    let solutions = spec.beside_the_bag();
    solutions.flat_map(|solution| &solution.value.contains)
}

/// Grams from one gram up, where no unit is asked for: nobody counts a day's
/// glucose in milligrams.
fn in_grams(question: &Question<'_>, unit: Unit, value: &ValueOf) -> Unit {
    let least = match value {
        ValueOf::Exact(curve) if question.unit.is_none() && unit == units::MG => curve.min_value(),
        _ => None,
    };
    match least {
        Some(least) if least.value >= Exact::int(1_000) => units::G,
        _ => unit,
    }
}
