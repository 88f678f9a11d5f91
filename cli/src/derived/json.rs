//! Derived values for programs.

use serde::Serialize;

use super::{CAUTION, Derived, DerivedOrder, DerivedPhase, DerivedValue};

#[derive(Serialize)]
pub(crate) struct Document<'a> {
    caution: &'static str,
    orders: Vec<Order<'a>>,
}

#[derive(Serialize)]
struct Order<'a> {
    name: &'a str,
    file: &'a str,
    phases: Vec<Phase<'a>>,
    /// Why there is no number; empty where there is.
    incomplete: &'a [String],
    /// Patients asked about that the order does not cover.
    outside: &'a [String],
    /// Settings asked about that the order does not allow, and why.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    settings: &'a [String],
}

#[derive(Serialize)]
struct Phase<'a> {
    name: Option<&'a str>,
    values: Vec<Value<'a>>,
}

#[derive(Serialize)]
struct Value<'a> {
    measure: &'a str,
    /// Which of several runs or boluses of the phase: `run 2`.
    #[serde(skip_serializing_if = "Option::is_none")]
    part: Option<&'a str>,
    at: At<'a>,
    exact: Option<&'a str>,
    decimal: Option<&'a str>,
    shown: Option<&'a str>,
    unit: &'a str,
    working: &'a [String],
}

#[derive(Serialize)]
struct At<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    weight: Option<&'a str>,
    /// The weight at which the value holds, where `weight` is rounded.
    #[serde(skip_serializing_if = "Option::is_none")]
    exact_weight: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    surface: Option<&'a str>,
    /// The surface at which the value holds, where `surface` is rounded.
    #[serde(skip_serializing_if = "Option::is_none")]
    exact_surface: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dose: Option<&'a str>,
}

impl Derived {
    /// As one document.
    pub(crate) fn document(&self) -> Document<'_> {
        Document {
            caution: CAUTION,
            orders: self.orders.iter().map(order).collect(),
        }
    }
}

fn order(order: &DerivedOrder) -> Order<'_> {
    Order {
        name: &order.name,
        file: &order.file,
        phases: order.phases.iter().map(phase).collect(),
        incomplete: &order.obstacles,
        outside: &order.outside,
        settings: &order.settings,
    }
}

fn phase(phase: &DerivedPhase) -> Phase<'_> {
    Phase {
        name: phase.name.as_deref(),
        values: phase.values.iter().map(value).collect(),
    }
}

fn value(value: &DerivedValue) -> Value<'_> {
    let number = value.number.as_ref();
    Value {
        measure: &value.measure,
        part: value.part.as_deref(),
        at: At {
            weight: value.at.weight.as_deref(),
            exact_weight: value.at.exact_weight.as_deref(),
            surface: value.at.surface.as_deref(),
            exact_surface: value.at.exact_surface.as_deref(),
            dose: value.at.dose.as_deref(),
        },
        exact: number.map(|number| number.exact.as_str()),
        decimal: number.map(|number| number.decimal.as_str()),
        shown: number.map(|number| number.shown.as_str()),
        unit: &value.unit,
        working: &value.working,
    }
}
