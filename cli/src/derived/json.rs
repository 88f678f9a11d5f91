//! Derived values for programs. Each thing is said once: a measure and its
//! unit for all its numbers, a patient and a step for the whole order. `exact`,
//! `decimal` and `unit` are the same in every house; what is for people (how a
//! patient, a setting, a number and a step read) is as the house writes it.

use std::collections::{HashMap, HashSet};

use serde::Serialize;

use super::{CAUTION, Derived, DerivedOrder, DerivedPhase, DerivedValue, PatientSetting, Size};

/// The form of the document, by number: another where what is in it would be
/// misread by who knows this one. (The first had a row for each number.)
const FORM: u32 = 2;

#[derive(Serialize)]
pub(crate) struct Document<'a> {
    form: u32,
    caution: &'static str,
    orders: Vec<Order<'a>>,
}

#[derive(Serialize)]
struct Order<'a> {
    name: &'a str,
    file: &'a str,
    /// Those for whom a number is told, in the order in which they come.
    patients: Vec<Patient<'a>>,
    phases: Vec<Phase<'a>>,
    /// The steps to all numbers, where they were asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    steps: Vec<&'a str>,
    /// Why there is no number; empty where there is.
    incomplete: &'a [String],
    /// Patients asked about that the order does not cover.
    outside: &'a [String],
    /// Settings asked about that the order does not allow, and why.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    settings: &'a [String],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
struct Patient<'a> {
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
}

#[derive(Serialize)]
struct Phase<'a> {
    name: Option<&'a str>,
    values: Vec<Value<'a>>,
}

/// A measure, and its number for each patient.
#[derive(Serialize)]
struct Value<'a> {
    #[serde(flatten)]
    head: Head<'a>,
    numbers: Vec<Number<'a>>,
    /// Whether all numbers are one, which holds for every patient.
    #[serde(skip)]
    constant: bool,
    #[serde(skip)]
    patients: HashSet<Option<usize>>,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize)]
struct Head<'a> {
    measure: &'a str,
    /// Which of several runs or boluses of the phase: `run 2`.
    #[serde(skip_serializing_if = "Option::is_none")]
    part: Option<&'a str>,
    /// The setting that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    dose: Option<&'a str>,
    unit: &'a str,
}

#[derive(PartialEq, Eq, Serialize)]
struct Number<'a> {
    /// For which of the order's patients; not there: for every patient.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<usize>,
    /// `null`: the pump cannot run it.
    exact: Option<&'a str>,
    decimal: Option<&'a str>,
    /// As people of the house read it.
    shown: Option<&'a str>,
    /// Which of the order's steps lead to it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    working: Vec<usize>,
}

impl Derived {
    /// As one document.
    pub(crate) fn document(&self) -> Document<'_> {
        Document {
            form: FORM,
            caution: CAUTION,
            orders: self.orders.iter().map(order).collect(),
        }
    }
}

fn order(order: &DerivedOrder) -> Order<'_> {
    let (mut patients, mut steps) = (Numbered::default(), Numbered::default());
    let phases = order.phases.iter();
    let phases = phases.map(|own| phase(own, &mut patients, &mut steps));
    let phases = phases.collect();
    Order {
        name: &order.name,
        file: &order.file,
        patients: patients.all,
        phases,
        steps: steps.all,
        incomplete: &order.obstacles,
        outside: &order.outside,
        settings: &order.settings,
    }
}

fn phase<'a>(
    phase: &'a DerivedPhase,
    patients: &mut Numbered<Patient<'a>>,
    steps: &mut Numbered<&'a str>,
) -> Phase<'a> {
    let mut values: Vec<Value<'a>> = Vec::new();
    let mut places: HashMap<Head<'a>, Vec<usize>> = HashMap::new();
    for own in &phase.values {
        let head = Head {
            measure: &own.measure,
            part: own.part.as_deref(),
            dose: own.at.dose.as_deref(),
            unit: &own.unit,
        };
        let number = number(own, patients, steps);
        let like = places.entry(head).or_default();
        let mut known = like.iter().filter_map(|place| values.get(*place));
        if known.any(|value| value.numbers.contains(&number)) {
            continue;
        }
        // Two of one measure for one patient (two bags, say) are two values.
        let takes = |place: &&usize| {
            let value = values.get(**place);
            value.is_some_and(|value| !value.patients.contains(&number.patient))
        };
        let place = like.iter().find(takes).copied();
        match place.and_then(|place| values.get_mut(place)) {
            Some(value) => value.take(number, own.constant),
            None => {
                like.push(values.len());
                let mut value = Value {
                    head,
                    numbers: Vec::new(),
                    constant: true,
                    patients: HashSet::new(),
                };
                value.take(number, own.constant);
                values.push(value);
            }
        }
    }
    values.iter_mut().for_each(Value::say_once);
    Phase {
        name: phase.name.as_deref(),
        values,
    }
}

impl<'a> Value<'a> {
    fn take(&mut self, number: Number<'a>, constant: bool) {
        self.constant &= constant;
        self.patients.insert(number.patient);
        self.numbers.push(number);
    }

    /// A number that is the same for every patient, and comes about alike.
    fn say_once(&mut self) {
        let [first, others @ ..] = self.numbers.as_mut_slice() else {
            return;
        };
        let is_first =
            |other: &Number<'_>| (&other.exact, &other.working) == (&first.exact, &first.working);
        if self.constant && others.iter().all(is_first) {
            first.patient = None;
            self.numbers.truncate(1);
        }
    }
}

fn number<'a>(
    value: &'a DerivedValue,
    patients: &mut Numbered<Patient<'a>>,
    steps: &mut Numbered<&'a str>,
) -> Number<'a> {
    let PatientSetting {
        weight,
        surface,
        dose: _,
    } = &value.at;
    let text = |size: &'a Option<Size>| size.as_ref().map(|size| size.text.as_str());
    let exact = |size: &'a Option<Size>| size.as_ref().and_then(|size| size.exact.as_deref());
    let patient = Patient {
        weight: text(weight),
        exact_weight: exact(weight),
        surface: text(surface),
        exact_surface: exact(surface),
    };
    let somebody = weight.is_some() || surface.is_some();
    let number = value.number.as_ref();
    let working = value.working.iter();
    Number {
        patient: somebody.then(|| patients.place(patient)),
        exact: number.map(|number| number.exact.as_str()),
        decimal: number.map(|number| number.decimal.as_str()),
        shown: number.map(|number| number.shown.as_str()),
        working: working.map(|step| steps.place(step)).collect(),
    }
}

/// Things that are named by their place, each there once.
struct Numbered<T> {
    all: Vec<T>,
    places: HashMap<T, usize>,
}

impl<T> Default for Numbered<T> {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            places: HashMap::new(),
        }
    }
}

impl<T: Copy + Eq + std::hash::Hash> Numbered<T> {
    fn place(&mut self, thing: T) -> usize {
        let next = self.all.len();
        let place = *self.places.entry(thing).or_insert(next);
        if place == next {
            self.all.push(thing);
        }
        place
    }
}
