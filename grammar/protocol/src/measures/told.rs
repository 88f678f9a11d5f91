//! Derived values as people read them.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::print::between;
use gutta_quantity::{Exact, Printed, Quantity, Rounding, Style};

use super::{Measure, Value, ValueOf};
use crate::derive::View;

/// What stands where there is no number.
pub const NOTHING: &str = "\u{2014}";

impl Value {
    /// A number of this value (in base units) as people of a house read it:
    /// everyday precision, but the exact flow as it is, since the pump's
    /// stands beside it; the pump's flow to its last digit, since it is keyed
    /// in; drug and diluent so that they add up to the bag; and a bag lasts no
    /// longer than is said.
    #[must_use]
    pub fn told(&self, base: &Exact, style: Style) -> Printed {
        let quantity = Quantity::from_base(base.clone(), self.unit);
        match self.measure {
            Measure::Expect(ExpectMeasure::Flow | ExpectMeasure::Draw) | Measure::Diluent => {
                style.quantity(&quantity)
            }
            Measure::Expect(ExpectMeasure::PumpFlow) => style
                .quantity_exact(&quantity)
                .unwrap_or_else(|| style.quantity(&quantity)),
            Measure::RunsDry => style.duration(base, Rounding::Down),
            _ => style.quantity_shown(&quantity),
        }
    }

    /// The number alone at everyday precision, counted in [`Self::unit`] even
    /// where it is a time; the pump's flow to its last digit.
    #[must_use]
    pub fn number_told(&self, base: &Exact, style: Style) -> String {
        let value = Quantity::from_base(base.clone(), self.unit).value;
        match self.measure {
            Measure::Expect(ExpectMeasure::PumpFlow) => style
                .decimal_exact(&value)
                .unwrap_or_else(|| style.shown(&value, self.unit)),
            _ => style.shown(&value, self.unit),
        }
    }
}

/// One value at one place.
#[derive(Clone, Debug)]
pub struct Spot<'a> {
    /// The view.
    pub view: &'a View,
    /// The patient: a number of the view's variable.
    pub x: Exact,
    /// The value there, in base units; `None` where there is none.
    pub number: Option<Exact>,
}

/// Between what a value lies.
#[derive(Clone, Debug)]
pub struct Reach<'a> {
    /// Its first end: that of the lightest patient where the value only rises
    /// or only falls, else where it is least.
    pub from: Spot<'a>,
    /// Its other end.
    pub to: Spot<'a>,
}

impl Spot<'_> {
    /// The number as people of a house read it.
    #[must_use]
    pub fn told(&self, value: &Value, style: Style) -> Option<Printed> {
        Some(value.told(self.number.as_ref()?, style))
    }
}

impl Reach<'_> {
    /// In words: `1.8 to 6.75 mL/h`.
    #[must_use]
    pub fn told(&self, value: &Value, style: Style) -> String {
        ends(self.from.told(value, style), self.to.told(value, style))
    }
}

/// From one end to the other, in words, where either may have no number.
#[must_use]
pub fn ends(from: Option<Printed>, to: Option<Printed>) -> String {
    match (from, to) {
        (Some(from), Some(to)) => between(&from, &to).to_string(),
        (None, None) => NOTHING.to_owned(),
        (None, Some(to)) => format!("{NOTHING} to {to}"),
        (Some(from), None) => format!("{from} to {NOTHING}"),
    }
}

/// Between what the values lie: one value, over each of an order's views. A
/// value that is not an exact function is looked at where it turns. `None`
/// where there are no values.
#[must_use]
pub fn reach<'a>(values: &[(&'a View, &Value)]) -> Option<Reach<'a>> {
    let all: Vec<_> = values
        .iter()
        .filter_map(|(view, value)| of_view(view, value))
        .collect();
    if let [one] = all.as_slice() {
        return Some(one.clone());
    }
    let spots = || all.iter().flat_map(|reach| [&reach.from, &reach.to]);
    let by = |spot: &&Spot<'_>| spot.number.clone();
    Some(Reach {
        from: spots().min_by_key(by)?.clone(),
        to: spots().max_by_key(by)?.clone(),
    })
}

fn of_view<'a>(view: &'a View, value: &Value) -> Option<Reach<'a>> {
    let spot = |x: &Exact, number: Option<Exact>| Spot {
        view,
        x: x.clone(),
        number,
    };
    let turns = value.turns(view);
    let (first, last) = (turns.first()?, turns.last()?);
    let ends = Reach {
        from: spot(first, value.at(first)),
        to: spot(last, value.at(last)),
    };
    let (least, most) = match &value.value {
        ValueOf::Exact(curve) => {
            let (least, most) = (curve.min_value()?, curve.max_value()?);
            (
                spot(&least.x, Some(least.value)),
                spot(&most.x, Some(most.value)),
            )
        }
        _ => {
            let spots = || turns.iter().map(|x| spot(x, value.at(x)));
            let by = |spot: &Spot<'_>| spot.number.clone();
            (spots().min_by_key(by)?, spots().max_by_key(by)?)
        }
    };
    let at_ends = |number: &Option<Exact>| *number == ends.from.number || *number == ends.to.number;
    if at_ends(&least.number) && at_ends(&most.number) {
        return Some(ends);
    }
    Some(Reach {
        from: least,
        to: most,
    })
}
