//! All that follows from orders, as it is shown: gathered once, and written
//! in the form asked for.

mod by_name;
mod csv;
mod gather;
mod json;
mod markdown;
mod text;

pub(crate) use gather::{DerivedQuery, gather};
pub(crate) use gutta_protocol::CAUTION;
use gutta_quantity::Exact;

/// What follows from the orders.
#[derive(Debug)]
pub(crate) struct Derived {
    /// In the order of files and text.
    pub(crate) orders: Vec<DerivedOrder>,
}

/// What follows from one order.
#[derive(Debug)]
pub(crate) struct DerivedOrder {
    /// Its name.
    pub(crate) name: String,
    /// Its title.
    pub(crate) title: Option<String>,
    /// Its file, from the root.
    pub(crate) file: String,
    /// The line of its header.
    pub(crate) line: usize,
    /// Its phases; the values of the whole order stand last, in one without a
    /// name. None where anything stands in the way.
    pub(crate) phases: Vec<DerivedPhase>,
    /// What stands in the way: then there is no number.
    pub(crate) obstacles: Vec<String>,
    /// Patients asked about that the order does not cover.
    pub(crate) outside: Vec<String>,
    /// Settings asked about that the order does not allow, and why.
    pub(crate) settings: Vec<String>,
}

/// The values of a phase.
#[derive(Debug, Default)]
pub(crate) struct DerivedPhase {
    /// `None`: the order has no phases, or the values are the whole order's.
    pub(crate) name: Option<String>,
    /// In the order in which an author meets them.
    pub(crate) values: Vec<DerivedValue>,
}

/// A value, for one patient and setting.
#[derive(Debug)]
pub(crate) struct DerivedValue {
    /// As `expect` writes it.
    pub(crate) measure: String,
    /// Which run or bolus of its phase it is of, where there are several:
    /// `run 2`.
    pub(crate) part: Option<String>,
    /// For whom, and at which setting.
    pub(crate) at: PatientSetting,
    /// Whether it is the same for every patient.
    pub(crate) constant: bool,
    /// The number; `None` where the pump cannot run it.
    pub(crate) number: Option<Number>,
    /// Its unit, as the notation's table spells it.
    pub(crate) unit: String,
    /// How it comes about.
    pub(crate) working: Vec<String>,
}

/// The patient and the setting of a value.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct PatientSetting {
    /// `70 kg`.
    pub(crate) weight: Option<Size>,
    /// `1.8 m2`.
    pub(crate) surface: Option<Size>,
    /// `5 mcg/kg/min`, where another than the order's was asked for.
    pub(crate) dose: Option<String>,
}

/// A patient's weight or surface.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Size {
    /// In kg or m2.
    pub(crate) value: Exact,
    /// As the house writes it.
    pub(crate) text: String,
    /// The value as a fraction, where it is written rounded.
    pub(crate) exact: Option<String>,
}

impl DerivedValue {
    /// The measure, and of which run or bolus: `flow, run 2`.
    pub(crate) fn head(&self) -> String {
        match &self.part {
            Some(part) => format!("{}, {part}", self.measure),
            None => self.measure.clone(),
        }
    }
}

impl PatientSetting {
    /// `70 kg, 1.8 m2`.
    pub(crate) fn patient(&self) -> String {
        let parts = [&self.weight, &self.surface].into_iter().flatten();
        let parts: Vec<_> = parts.map(|size| size.text.as_str()).collect();
        parts.join(", ")
    }
}

/// A number, as far as it can be written.
#[derive(Clone, Debug)]
pub(crate) struct Number {
    /// The fraction: `21/8`.
    pub(crate) exact: String,
    /// Its decimal form, to twelve decimals if it does not end before.
    pub(crate) decimal: String,
    /// At everyday precision, as the house writes it: `2.6`.
    pub(crate) shown: String,
    /// The same with its unit, a time by the clock: `5 h 57 min`.
    pub(crate) told: String,
}
