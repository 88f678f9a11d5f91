//! How a derived value comes about: every step, with its units.

mod bag;
mod convert;
mod given;
mod run;

use std::fmt;

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Dimension, Exact, Quantity, Style, Unit, units};

use crate::curve::Curve;
use crate::derive::{Incomplete, Patient, View, derive};
use crate::measures::{Measure, Measures, Value, ValueOf};
use crate::model::order::Order;
use crate::model::size::{Per, Size};

/// Shows the steps to the values of one patient at one setting.
#[derive(Clone, Copy)]
pub struct Working<'a> {
    /// The order.
    pub order: &'a Order,
    /// The view.
    pub view: &'a View,
    /// The patient: a number of the view's variable.
    pub x: &'a Exact,
    /// The setting, where it is another than the order starts with: the one
    /// that the value was asked for at.
    pub dose: Option<&'a Size>,
    /// How the house writes.
    pub style: Style,
}

/// A value of one patient, and how it comes about.
#[derive(Clone, Debug)]
pub struct Worked {
    /// The value.
    pub value: Value,
    /// The number, in base units of `value.unit`'s dimension; `None` where
    /// there is none.
    pub number: Option<Exact>,
    /// The steps to it, the last of which is the value itself.
    pub steps: Vec<String>,
}

/// Every value of an order for one patient, or of one phase or run of it, with
/// its steps: as the order starts, or at another setting. A place is a phase
/// and, for the values of one run alone, the run. The patient needs every
/// number that the order goes by; one left out is taken at the low end. The
/// steps are in words, as the house writes.
///
/// # Errors
///
/// As [`derive()`](crate::derive::derive): an incomplete order has no values.
pub fn worked(
    order: &Order,
    patient: &Patient,
    dose: Option<&Size>,
    place: Option<(usize, Option<usize>)>,
    style: Style,
) -> Result<Vec<Worked>, Incomplete> {
    let values = derive(order, patient)?;
    let Some(view) = values.views.first() else {
        return Ok(Vec::new());
    };
    let x = view.patients.interval.lo();
    let working = Working {
        order,
        view,
        x,
        dose,
        style,
    };
    let all = Measures { order, view }.all(dose).into_iter();
    let here = all.filter(|value| {
        place.is_none_or(|(phase, run)| {
            value.phase == Some(phase) && (run.is_none() || value.run == run)
        })
    });
    let worked = here.map(|value| Worked {
        number: value.at(x),
        steps: working.steps(&value),
        value,
    });
    Ok(worked.collect())
}

/// A quantity of a step, which reads as the house writes it.
#[derive(Clone)]
struct StyledQuantity {
    quantity: Quantity,
    style: Style,
}

impl StyledQuantity {
    const fn of(quantity: Quantity, style: Style) -> Self {
        Self { quantity, style }
    }

    /// Another number, in base units, in the same unit.
    fn like(&self, base: Exact) -> Self {
        Self::of(Quantity::from_base(base, self.unit), self.style)
    }
}

impl std::ops::Deref for StyledQuantity {
    type Target = Quantity;

    fn deref(&self) -> &Quantity {
        &self.quantity
    }
}

impl fmt::Display for StyledQuantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.style.quantity(&self.quantity).fmt(f)
    }
}

impl Working<'_> {
    /// The steps to a value, the last of which is the value. Empty where the
    /// patient is not covered.
    #[must_use]
    pub fn steps(&self, value: &Value) -> Vec<String> {
        self.try_steps(value).unwrap_or_default()
    }

    fn try_steps(&self, value: &Value) -> Option<Vec<String>> {
        use ExpectMeasure as M;
        let mut steps = Vec::new();
        let all = &mut steps;
        match (&value.measure, value.phase) {
            (Measure::Expect(measure), phase) => match (measure, phase) {
                (M::Strength | M::TrueStrength | M::Draw, Some(phase)) => self.bag(phase, all)?,
                (M::Flow | M::PumpFlow | M::Drops | M::Time | M::Volume | M::Dose, Some(phase)) => {
                    self.run(phase, value, all)?
                }
                (M::Bolus | M::BolusTime, Some(phase)) => self.bolus(phase, value.bolus?, all)?,
                (M::Substance(name), Some(phase)) => self.substance(phase, name, value, all)?,
                (_, _) => self.total(value, all)?,
            },
            (Measure::PumpDose, Some(phase)) => self.run(phase, value, all)?,
            (Measure::Diluent, Some(phase)) => self.diluent(phase, all)?,
            (Measure::Containers, Some(phase)) => self.containers(phase, all)?,
            (Measure::RunsDry, Some(phase)) => self.runs_dry(phase, all)?,
            (Measure::Bags, Some(phase)) => self.bags(phase, all)?,
            (_, None) => {}
        }
        steps.push(self.result(value)?);
        Some(steps)
    }

    /// The value itself, named.
    fn result(&self, value: &Value) -> Option<String> {
        let name = value.measure.name();
        let per_day = if value.per_day { " per day" } else { "" };
        let in_unit = |base: Exact| self.quantity(base, value.unit);
        Some(match &value.value {
            ValueOf::WithoutEnd => format!("{name}: has no end"),
            ValueOf::WhereNothing(_) if value.at(self.x).is_none() => {
                format!("{name}: never, some is left in the bag")
            }
            ValueOf::Exact(_) | ValueOf::WhereNothing(_) => {
                let base = value.at(self.x)?;
                let clock = value.told(&base, self.style).to_string();
                let result = in_unit(base);
                let clock = if result.dimension() == Dimension::TIME && clock != result.to_string()
                {
                    format!(", that is {clock}")
                } else {
                    String::new()
                };
                format!("{name} {result}{per_day}{clock}")
            }
            ValueOf::Whole(curve) => {
                let exact = curve.at(self.x)?;
                let whole = in_unit(exact.ceil());
                if exact.is_whole() {
                    format!("{name} {whole}, opened and used up")
                } else {
                    format!(
                        "{name} {whole} (whole containers), rounded up from {}",
                        in_unit(exact)
                    )
                }
            }
            ValueOf::Pump(pumped) => {
                let exact = pumped.flow.at(self.x)?;
                let from = in_unit(exact.clone());
                match pumped.at(self.x) {
                    Some(set) if set == exact => {
                        format!("{name} {from}, which the pump can be set to exactly")
                    }
                    Some(set) => {
                        let way = if set < exact { "down" } else { "up" };
                        format!(
                            "{name} {}, rounded {way} from {from} to the pump's step",
                            in_unit(set)
                        )
                    }
                    None => format!("{name}: none, the pump cannot run {from}"),
                }
            }
            ValueOf::PumpDose(pumped, _) => match value.at(self.x) {
                Some(dose) => format!("{name} {}", in_unit(dose)),
                None => {
                    let flow = self.quantity(pumped.flow.at(self.x)?, units::ML_PER_H);
                    format!("{name}: none, the pump cannot run {flow}")
                }
            },
        })
    }

    /// A number in base units, as a quantity in `unit`.
    fn quantity(&self, base: Exact, unit: Unit) -> StyledQuantity {
        StyledQuantity::of(Quantity::from_base(base, unit), self.style)
    }

    fn told(&self, curve: &Curve, unit: Unit) -> Option<StyledQuantity> {
        Some(self.quantity(curve.at(self.x)?, unit))
    }

    fn time(&self, base: Exact) -> StyledQuantity {
        convert::time(base, self.style)
    }

    fn size(&self, size: &Size) -> StyledQuantity {
        StyledQuantity::of(size.quantity(), self.style)
    }

    /// `60 kg`, `1.8 m2`: what a size per this is multiplied by, with the cap
    /// on the dosing weight where it binds.
    fn patient(&self, size: &Size) -> Option<String> {
        let factor = self.view.patients.factor(size.form)?.at(self.x)?;
        Some(match size.form.per {
            Per::Patient => return None,
            Per::Surface => self.quantity(factor, units::M2).to_string(),
            Per::Weight => {
                let of = |weight| StyledQuantity::of(Quantity::new(weight, units::KG), self.style);
                let weight = of(factor.clone());
                let actual = self.view.patients.weight.as_ref()?.at(self.x)?;
                if actual == factor {
                    weight.to_string()
                } else {
                    format!("{weight} (the dosing weight, of {})", of(actual))
                }
            }
        })
    }

    /// `0.06 mcg/kg/min × 70 kg = 4.2 mcg/min`; nothing for a size that is for
    /// the whole patient. Returns the whole size.
    fn whole(&self, size: &Size, steps: &mut Vec<String>) -> Option<StyledQuantity> {
        let unit = without_patient(size.unit);
        let product = self.told(&self.view.patients.whole(size)?, unit)?;
        if let Some(patient) = self.patient(size) {
            steps.push(format!("{} × {patient} = {product}", self.size(size)));
        }
        Some(product)
    }

    /// The whole size, or its cap where that is less. Both are of one kind.
    fn cap(
        &self,
        stated: StyledQuantity,
        cap: Option<&Size>,
        steps: &mut Vec<String>,
    ) -> Option<StyledQuantity> {
        let Some(cap) = cap else { return Some(stated) };
        let bound = self.view.patients.whole(cap)?.at(self.x)?;
        if stated.base() > bound {
            let capped = stated.like(bound);
            steps.push(format!(
                "at most {}: {capped} instead of {stated}",
                self.size(cap)
            ));
            return Some(capped);
        }
        Some(stated)
    }
}

/// `mcg/min` of `mcg/kg/min`.
fn without_patient(unit: Unit) -> Unit {
    let mut below = unit.below().filter(|atom| {
        !matches!(
            atom.dimension_below(),
            Dimension::WEIGHT | Dimension::SURFACE
        )
    });
    Unit {
        top: unit.top,
        per: [below.next(), below.next()],
    }
}
