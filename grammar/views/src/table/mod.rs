//! Values by patient, and those that are the same for all: the one table that
//! sheets, overviews and hovers lay out.

mod patients;

use gutta_protocol::derive::View;
use gutta_protocol::measures::{Group, NOTHING, Value, ValueOf, WHY_NOTHING, staying};
use gutta_protocol::plot::axis;
use gutta_protocol::pump::settings;
use gutta_quantity::{Exact, Printed, Quantity, Style};

pub use patients::Choice;

/// Values of an order, each once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ByPatient {
    /// What is the same for every patient.
    pub same: Vec<Same>,
    /// What is not: a table for each view, or one where the other of weight and
    /// body surface area does not matter.
    pub tables: Vec<Table>,
}

/// A value that is the same for every patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Same {
    /// `strength`.
    pub measure: String,
    /// `80 mcg/mL`; `None`: the pump cannot run it, or the bag does not run
    /// dry.
    pub value: Option<Printed>,
}

/// Values by patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Whom for.
    pub patients: Patients,
    /// Each measure with its values.
    pub measures: Vec<Measured>,
}

/// The patients of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patients {
    /// What they are told apart by: `weight`, `surface`.
    pub across: &'static str,
    /// The other of the two, where the order ranges over both and it matters:
    /// `1.8 m2`.
    pub with: Option<Printed>,
    /// Rising.
    pub all: Vec<Patient>,
}

/// A patient of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patient {
    /// In kg, or m2.
    pub at: Exact,
    /// `70 kg`.
    pub told: Printed,
}

/// A measure of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Measured {
    /// `flow`.
    pub name: String,
    /// One a patient; `None`: there is none.
    pub cells: Vec<Option<Printed>>,
}

impl ByPatient {
    /// The values of an order's views, for the patients of the choice. A `chosen`
    /// weight in kg is among them wherever the views cover it.
    #[must_use]
    pub fn of(
        views: &[View],
        groups: &[&Group<'_>],
        choice: Choice,
        chosen: Option<&Exact>,
        style: Style,
    ) -> Self {
        let mut values = Self::default();
        let mut varying = Vec::new();
        for group in groups {
            match same(group, style) {
                Some(same) => values.same.push(same),
                None => varying.push(*group),
            }
        }
        if !varying.is_empty() {
            let of_view = |view| table(view, &varying, choice, chosen, style);
            let tables = views.iter().filter_map(of_view).collect();
            let forget = |table: &mut Table| table.patients.with = None;
            values.tables = alike(tables, forget, Table::words);
        }
        values
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.same.is_empty() && self.tables.is_empty()
    }
}

/// A value as a cell shows it, or what is shown in its place.
#[must_use]
pub fn cell(told: Option<&Printed>) -> String {
    told.map_or_else(|| NOTHING.to_owned(), Printed::to_string)
}

impl Table {
    /// All that is read in it.
    fn words(&self) -> Vec<String> {
        let read =
            |cell: &Option<Printed>| cell.as_ref().map_or_else(String::new, Printed::to_string);
        let patients = self.patients.all.iter();
        let patients = patients.map(|patient| patient.told.to_string());
        let cells = self.measures.iter().flat_map(|measure| &measure.cells);
        patients.chain(cells.map(read)).collect()
    }

    /// Why a value may be missing, where one is.
    #[must_use]
    pub fn note(&self) -> Option<&'static str> {
        let mut cells = self.measures.iter().flat_map(|measure| &measure.cells);
        cells.any(Option::is_none).then_some(WHY_NOTHING)
    }
}

impl Patients {
    /// The patients of a view; `None` where it tells none apart.
    #[must_use]
    pub fn of(
        view: &View,
        groups: &[&Group<'_>],
        choice: Choice,
        chosen: Option<&Exact>,
        style: Style,
    ) -> Option<Self> {
        let (across, unit) = axis(view)?;
        let interval = &view.patients.interval;
        let mut places = patients::choose(view, groups, choice);
        let chosen = chosen.filter(|weight| across == "weight" && interval.contains(weight));
        places.extend(chosen.cloned());
        places.sort();
        places.dedup();
        let patients = places.into_iter().map(|at| Patient {
            told: style.quantity(&Quantity::new(at.clone(), unit)),
            at,
        });
        Some(Self {
            across,
            with: staying(view, style),
            all: patients.collect(),
        })
    }
}

fn table(
    view: &View,
    groups: &[&Group<'_>],
    choice: Choice,
    chosen: Option<&Exact>,
    style: Style,
) -> Option<Table> {
    let patients = Patients::of(view, groups, choice, chosen, style)?;
    let measured = |group: &&Group<'_>| {
        let value = group.in_view(view);
        let cell = |patient: &Patient| Some(value?.told(&value?.at(&patient.at)?, style));
        Measured {
            name: group.name(style),
            cells: patients.all.iter().map(cell).collect(),
        }
    };
    let measures = groups.iter().map(measured).collect();
    Some(Table { patients, measures })
}

/// Where all say the same for their patients, only the first is kept, and stands
/// for all.
pub(crate) fn alike<T, R: PartialEq>(
    mut all: Vec<T>,
    forget: impl Fn(&mut T),
    rows: impl Fn(&T) -> R,
) -> Vec<T> {
    let same = all.first().is_some_and(|first| {
        let first = rows(first);
        all.iter().all(|other| rows(other) == first)
    });
    if same {
        all.truncate(1);
        all.iter_mut().for_each(forget);
    }
    all
}

/// What is the same for all, in all views.
fn same(group: &Group<'_>, style: Style) -> Option<Same> {
    let mut numbers = group.over.iter().map(|(view, value)| {
        let number = value.at(view.patients.interval.lo());
        number.map(|number| value.told(&number, style))
    });
    let first = numbers.next()?;
    let steady = group.is_same() || group.over.iter().all(|(_, value)| is_steady(value));
    let read = |told: &Option<Printed>| told.as_ref().map(Printed::to_string);
    let same = steady && numbers.all(|other| read(&other) == read(&first));
    same.then(|| Same {
        measure: group.name(style),
        value: first,
    })
}

/// Whether a pump runs one flow for every patient, and no bound turns its
/// rounding for some.
fn is_steady(value: &Value) -> bool {
    let ValueOf::Pump(pumped) = &value.value else {
        return false;
    };
    let flow = pumped.flow.is_constant();
    let Some(around) = flow.and_then(|flow| settings(&pumped.pump, flow)) else {
        return false;
    };
    let (Some(down), Some(up)) = (&around.down, &around.up) else {
        return false;
    };
    pumped.bounds.are_clear_of(down, up)
}
