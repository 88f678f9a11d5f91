//! Derived values as people read them.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::print::Digits;
use gutta_quantity::{Exact, Quantity, Rounding};

use super::{Measure, Value, ValueOf};
use crate::derive::View;

impl Value {
    /// A number of this value (in base units) as people read it, with its
    /// unit: everyday precision, but the exact flow as it is, since the
    /// pump's stands beside it; the pump's flow to its last digit, since it is
    /// keyed in; drug and diluent so that they add up to the bag; and a bag
    /// lasts no longer than is said.
    #[must_use]
    pub fn told(&self, base: &Exact, digits: Digits) -> String {
        let quantity = Quantity::from_base(base.clone(), self.unit);
        match self.measure {
            Measure::Expect(ExpectMeasure::Flow | ExpectMeasure::Draw) | Measure::Diluent => {
                digits.quantity(&quantity)
            }
            Measure::Expect(ExpectMeasure::PumpFlow) => digits.quantity_exact(&quantity),
            Measure::RunsDry => digits.duration(base, Rounding::Down),
            _ => digits.quantity_shown(&quantity),
        }
    }

    /// The number alone, as in [`Self::told`]; a time counted in its unit.
    #[must_use]
    pub fn number_told(&self, base: &Exact, digits: Digits) -> String {
        let value = Quantity::from_base(base.clone(), self.unit).value;
        match self.measure {
            Measure::Expect(ExpectMeasure::PumpFlow) => digits
                .decimal_exact(&value)
                .unwrap_or_else(|| digits.shown(&value, self.unit)),
            _ => digits.shown(&value, self.unit),
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

/// `2.4–7.2 mL/h` from `2.4 mL/h` and `7.2 mL/h`.
#[must_use]
pub fn between(from: &str, to: &str) -> String {
    if from == to {
        return from.to_owned();
    }
    let plain = |number: &str| !number.contains(char::is_alphabetic);
    if let (Some((low, unit)), Some((high, other))) = (from.rsplit_once(' '), to.rsplit_once(' '))
        && unit == other
        && plain(low)
        && plain(high)
    {
        return format!("{low}\u{2013}{high} {unit}");
    }
    format!("{from}\u{2013}{to}")
}
