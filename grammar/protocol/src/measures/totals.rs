//! Totals of the whole order.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Atom, Exact, Quantity, Unit, units};

use super::{Measures, Question, Value, ValueOf, amount_unit};
use crate::delivery::{Counted, Delivery, Endless};
use crate::derive::{At, day};
use crate::model::size::{Form, Size, Stuff};

impl Measures<'_> {
    /// Drug, fluid and every substance, in all (where there is an end) and per
    /// day, for the patient and per kg.
    pub(super) fn all_totals(&self, dose: Option<&Size>) -> Vec<Value> {
        let mut measures = vec![ExpectMeasure::Total, ExpectMeasure::Fluid];
        for (name, _) in self.view.substances(self.order) {
            let measure = ExpectMeasure::Substance(name);
            if !measures.contains(&measure) {
                measures.push(measure);
            }
        }
        let mut values = Vec::new();
        for measure in &measures {
            for per_day in [false, true] {
                let ask = |unit| {
                    let answers = self.answer(&Question {
                        measure,
                        per_day,
                        dose,
                        unit,
                    });
                    let ends = |value: &Value| value.value != ValueOf::WithoutEnd;
                    answers.into_iter().filter(ends).collect::<Vec<_>>()
                };
                let whole = ask(None);
                let units: Vec<_> = whole.iter().map(|value| value.unit).collect();
                values.extend(whole);
                for unit in &units {
                    let Some(of_each) = unit.per(Atom::Kg) else {
                        continue;
                    };
                    let per_kg = ask(Some(of_each));
                    // Grams in all may be milligrams for each kg.
                    let of_substance = matches!(measure, ExpectMeasure::Substance(_));
                    let small = of_substance && per_kg.iter().any(is_below_gram);
                    let finer = units::MG
                        .per(Atom::Kg)
                        .filter(|_| *unit == units::G && small);
                    values.extend(match finer {
                        Some(finer) => ask(Some(finer)),
                        None => per_kg,
                    });
                }
            }
        }
        values
    }

    /// What is given at the setting that is asked for.
    pub(crate) fn delivery_of(&self, question: &Question<'_>) -> Option<Delivery<'_>> {
        match question.dose {
            None => self.view.delivery(self.order, At::Start),
            Some(setting) => self.view.delivery_at(self.order, setting),
        }
    }

    /// The value of the whole order: at the first setting.
    pub(super) fn whole(
        &self,
        question: &Question<'_>,
        unit: Unit,
        value: ValueOf,
        per_day: bool,
    ) -> Value {
        let least = match &value {
            ValueOf::Exact(curve) if question.unit.is_none() => curve.min_value(),
            _ => None,
        };
        let unit = least.map_or(unit, |least| {
            unit.readable(&Quantity::from_base(least.value, unit).value)
        });
        Value {
            measure: question.measure(),
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
    pub(super) fn total(&self, question: &Question<'_>) -> Option<Value> {
        let delivery = self.delivery_of(question)?;
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
            let sum = delivery.most_in(Counted::Drug, &day())?;
            if form.rate {
                sum.scale(&day().recip()?)
            } else {
                sum
            }
        } else {
            match delivery.all(Counted::Drug)? {
                Endless::Ends(sum) => sum,
                Endless::WithoutEnd => {
                    return Some(self.whole(question, unit, ValueOf::WithoutEnd, false));
                }
            }
        };
        let value = self.view.drug_in_form(self.order, first, &sum, form)?;
        Some(self.whole(question, unit, ValueOf::Exact(value), per_day))
    }

    pub(super) fn fluid(&self, question: &Question<'_>) -> Option<Value> {
        let delivery = self.delivery_of(question)?;
        let unit = question.unit.unwrap_or(units::ML);
        let form = Form::of(unit.dimension()).filter(|form| form.stuff == Stuff::Volume)?;
        let per_day = question.per_day || form.rate;
        let sum = if per_day {
            let sum = delivery.most_in(Counted::Fluid, &day())?;
            if form.rate {
                sum.scale(&day().recip()?)
            } else {
                sum
            }
        } else {
            match delivery.all(Counted::Fluid)? {
                Endless::Ends(sum) => sum,
                Endless::WithoutEnd => {
                    return Some(self.whole(question, unit, ValueOf::WithoutEnd, false));
                }
            }
        };
        let value = sum.div(&self.view.patients.factor(form)?)?;
        Some(self.whole(question, unit, ValueOf::Exact(value), per_day))
    }
}

/// Whether a value per kg is less than 1 g/kg somewhere.
fn is_below_gram(value: &Value) -> bool {
    let least = match &value.value {
        ValueOf::Exact(curve) => curve.min_value(),
        _ => None,
    };
    least.is_some_and(|least| least.value < Exact::int(1_000))
}
