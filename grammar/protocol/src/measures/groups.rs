//! The values of an order gathered over its views.

use gutta_notation::{Fact, Written};
use gutta_quantity::print::between;
use gutta_quantity::{Exact, Printed, Quantity, Style, units};

use super::{Measure, Reach, Spot, Value, reach};
use crate::derive::{Variable, View};
use crate::model::order::Order;
use crate::model::size::Size;

/// One value, over each view of its order.
#[derive(Clone, Debug)]
pub struct Group<'a> {
    /// Its value in each view that has it.
    pub over: Vec<(&'a View, Value)>,
    /// At which setting, where it is another than the order starts with.
    pub setting: Option<&'a Size>,
}

/// Why a cell of a table may hold no number.
pub const WHY_NOTHING: &str = "the pump cannot run this flow, or the bag does not run dry";

impl Group<'_> {
    /// The value in its first view.
    #[must_use]
    pub fn value(&self) -> Option<&Value> {
        self.over.first().map(|(_, value)| value)
    }

    /// Whether it is this measure.
    #[must_use]
    pub fn is(&self, measure: &Measure) -> bool {
        self.value().is_some_and(|value| value.measure == *measure)
    }

    /// Whether the line states this very value.
    #[must_use]
    pub fn is_written(&self, fact: &Fact) -> bool {
        let states = |value: &Value, view: &View, written: &Written| {
            let at = view.patients.interval.lo();
            written.quantity().is_some_and(|quantity| {
                quantity.unit.commensurable(value.unit)
                    && value.at(at).as_ref() == Some(&quantity.base())
            })
        };
        let written = fact.quantities();
        self.over.iter().all(|(view, value)| {
            value.is_constant() && written.iter().any(|written| states(value, view, written))
        })
    }

    /// Whether no patient of a view is told from another by it.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.over
            .iter()
            .all(|(view, value)| value.is_constant() || view.patients.variable == Variable::Nothing)
    }

    /// The value in a view.
    #[must_use]
    pub fn in_view(&self, view: &View) -> Option<&Value> {
        let mut over = self.over.iter();
        let own = over.find(|(other, _)| std::ptr::eq(*other, view))?;
        Some(&own.1)
    }

    /// What the value is called: `flow`, `flow at 0.5 mcg/kg/min`, `total per
    /// kg per day`.
    #[must_use]
    pub fn name(&self, style: Style) -> String {
        let Some(value) = self.value() else {
            return String::new();
        };
        let mut name = value.measure.name().to_owned();
        let dimension = value.unit.dimension();
        if dimension.without_patient() != dimension && value.phase.is_none() {
            name.push_str(if dimension.weight == 0 {
                " per m2"
            } else {
                " per kg"
            });
        }
        if value.per_day {
            name.push_str(" per day");
        }
        if let Some(setting) = self.setting {
            name.push_str(" at ");
            name.push_str(&style.quantity(&setting.quantity()).to_string());
        }
        name
    }

    /// Between what the value lies, for all patients or at one weight in kg.
    #[must_use]
    pub fn reach(&self, weight: Option<&Exact>) -> Option<Reach<'_>> {
        let over: Vec<_> = self
            .over
            .iter()
            .map(|(view, value)| (*view, value))
            .collect();
        let Some(weight) = weight else {
            return reach(&over);
        };
        let spots = || {
            over.iter().map(|(view, value)| Spot {
                view,
                x: weight.clone(),
                number: value.at(weight),
            })
        };
        let by = |spot: &Spot<'_>| spot.number.clone();
        Some(Reach {
            from: spots().min_by_key(by)?,
            to: spots().max_by_key(by)?,
        })
    }
}

/// Gathers what several views say of the same.
#[must_use]
pub fn gather<'v>(
    views: &'v [View],
    setting: Option<&'v Size>,
    values: impl Fn(&View) -> Vec<Value>,
) -> Vec<Group<'v>> {
    let mut groups: Vec<Group<'v>> = Vec::new();
    for view in views {
        for value in values(view) {
            let same = |group: &&mut Group<'_>| {
                group.over.first().is_some_and(|(other_view, other)| {
                    !std::ptr::eq(*other_view, view)
                        && other.measure == value.measure
                        && other.per_day == value.per_day
                        && (other.phase, other.run, other.bolus)
                            == (value.phase, value.run, value.bolus)
                        && other.unit.commensurable(value.unit)
                })
            };
            match groups.iter_mut().find(same) {
                Some(group) => group.over.push((view, value)),
                None => groups.push(Group {
                    over: vec![(view, value)],
                    setting,
                }),
            }
        }
    }
    groups
}

/// `1.8 m2`: the one of weight and surface that stays, where the order ranges
/// over both.
#[must_use]
pub fn staying(view: &View, style: Style) -> Option<Printed> {
    let (curve, unit) = match view.patients.variable {
        Variable::Weight => (view.patients.surface.as_ref()?, units::M2),
        Variable::Surface => (view.patients.weight.as_ref()?, units::KG),
        Variable::Nothing => return None,
    };
    let stays = curve.is_constant()?.clone();
    Some(style.quantity(&Quantity::new(stays, unit)))
}

/// The patients of an order: `40 to 150 kg`, `40 to 150 kg, 1.2 to 2.2 m2`; nothing
/// where it tells none apart.
#[must_use]
pub fn patients(order: &Order, style: Style) -> String {
    let sides = [(&order.weight, units::KG), (&order.surface, units::M2)];
    let told = sides.into_iter().filter_map(|(extent, unit)| {
        let extent = extent.as_ref()?;
        let (low, high) = (extent.low.as_ref()?, extent.high.as_ref()?);
        let end = |end: &Exact| style.quantity(&Quantity::new(end.clone(), unit));
        Some(between(&end(low), &end(high)).to_string())
    });
    told.collect::<Vec<_>>().join(", ")
}
