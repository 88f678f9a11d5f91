//! What follows from an order, looked up by phase, run and bolus.

use gutta_notation::Fact;
use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Variable, View};
use gutta_protocol::measures::{Group, Measure, Measures, Spot, Value, gather};
use gutta_protocol::model::order::Order;
use gutta_quantity::{Dimension, Exact, Quantity, Style, units};

use super::text::told;

/// The derived values of an order.
pub(super) struct Derived<'a> {
    pub(super) views: &'a [View],
    groups: Vec<Group<'a>>,
}

/// A run or a bolus of a phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Giving {
    Run(usize),
    Bolus(usize),
}

impl<'a> Derived<'a> {
    pub(super) fn of(order: &Order, views: &'a [View]) -> Self {
        let values = |view: &View| Measures { order, view }.all(None);
        Self {
            views,
            groups: gather(views, None, values),
        }
    }

    /// A value of a giving, in base units, where it is the same for every
    /// patient.
    pub(super) fn constant(
        &self,
        phase: usize,
        giving: Giving,
        measure: &ExpectMeasure,
        dimension: Dimension,
    ) -> Option<Exact> {
        let groups = self.of_giving(phase, giving);
        let mut found = groups.filter(|group| group.is(&Measure::Expect(measure.clone())));
        let group = found.find(|group| {
            group
                .value()
                .is_some_and(|value| value.unit.dimension() == dimension)
        })?;
        only(group.over.iter().map(|(view, value)| {
            let interval = &view.patients.interval;
            let one = value.is_constant()
                || interval.is_point()
                || view.patients.variable == Variable::Nothing;
            one.then(|| value.at(interval.lo()))?
        }))
    }

    fn of_giving(&self, phase: usize, giving: Giving) -> impl Iterator<Item = &Group<'a>> {
        self.groups.iter().filter(move |group| {
            group.value().is_some_and(|value| {
                value.phase == Some(phase)
                    && match giving {
                        Giving::Run(run) => value.run == Some(run),
                        Giving::Bolus(bolus) => value.bolus == Some(bolus),
                    }
            })
        })
    }

    /// What follows from a giving and its line does not state, in words.
    pub(super) fn told(
        &self,
        phase: usize,
        giving: Giving,
        fact: &Fact,
        style: Style,
    ) -> Vec<String> {
        let exact = |value: &Value| matches!(value.measure, Measure::Expect(ref of) if *of != ExpectMeasure::PumpFlow);
        let groups = self.of_giving(phase, giving);
        let shown =
            groups.filter(|group| group.value().is_some_and(exact) && !group.is_written(fact));
        shown
            .filter_map(|group| {
                let reach = group.reach(None)?;
                let unit = group.value()?.unit;
                let number = |spot: &Spot<'_>| {
                    let base = spot.number.clone()?;
                    Some(told(&Quantity::from_base(base, unit), style))
                };
                let (from, to) = (number(&reach.from)?, number(&reach.to)?);
                let name = group.name(style);
                if from == to {
                    return Some(format!("{name} {from}"));
                }
                let at = |spot: &Spot<'_>| patient(spot, style);
                Some(format!(
                    "{name} from {from} at {} to {to} at {}",
                    at(&reach.from),
                    at(&reach.to)
                ))
            })
            .collect()
    }
}

/// A patient: `70 kg`, `70 kg and 1.8 m2`.
fn patient(spot: &Spot<'_>, style: Style) -> String {
    let patients = &spot.view.patients;
    let sides = [
        (&patients.weight, units::KG),
        (&patients.surface, units::M2),
    ];
    let sides = sides.into_iter().filter_map(|(curve, unit)| {
        let value = curve.as_ref()?.at(&spot.x)?;
        Some(told(&Quantity::new(value, unit), style))
    });
    sides.collect::<Vec<_>>().join(" and ")
}

/// What a curve is in every view, for every patient; `None` where it is not
/// one number.
pub(super) fn same(views: &[View], of: impl Fn(&View) -> Option<Curve>) -> Option<Exact> {
    only(views.iter().map(|view| {
        let (curve, interval) = (of(view)?, &view.patients.interval);
        if interval.is_point() {
            return curve.at(interval.lo());
        }
        curve.is_constant().cloned()
    }))
}

fn only(mut all: impl Iterator<Item = Option<Exact>>) -> Option<Exact> {
    let first = all.next()??;
    all.all(|other| other.as_ref() == Some(&first))
        .then_some(first)
}
