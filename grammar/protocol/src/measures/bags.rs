//! Strength, what to draw up, boluses.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Dimension, Unit, units};

use super::{Measure, Measures, Question, Value, ValueOf, amount_unit, strength_unit};
use crate::curve::Curve;
use crate::model::size::Form;

impl Measures<'_> {
    pub(super) fn strengths(&self, question: &Question<'_>) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, derived) in self.view.bags() {
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
                    let factor = kind
                        .and_then(|kind| crate::model::drug::equivalence(named, drug.kind, kind));
                    let Some(factor) = factor.filter(|_| unit.dimension().is_strength()) else {
                        continue;
                    };
                    (curve.scale(&factor), unit)
                }
            };
            values.push(self.of_bag(question.measure(), phase, unit, ValueOf::Exact(curve)));
        }
        values
    }

    pub(super) fn draws(&self, question: &Question<'_>) -> Vec<Value> {
        let drawn = self.view.bags().filter_map(|(phase, derived)| {
            let draw = derived.bag.drug.as_ref()?.draw.clone()?;
            let (draw, unit) = self.like(draw, units::ML, question.unit)?;
            let measure = Measure::Expect(ExpectMeasure::Draw);
            Some(self.of_bag(measure, phase, unit, ValueOf::Exact(draw)))
        });
        drawn.collect()
    }

    /// A bolus is a volume or an amount of drug, by the unit asked for; both
    /// where none is.
    pub(super) fn boluses(&self, question: &Question<'_>) -> Vec<Value> {
        let mut values = Vec::new();
        for (phase, derived) in self.view.phases.iter().enumerate() {
            for (index, bolus) in derived.boluses.iter().enumerate() {
                let value = |curve: Curve, unit: Unit| Value {
                    measure: question.measure(),
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
}
