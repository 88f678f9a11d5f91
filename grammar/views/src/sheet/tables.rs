//! Values by patient.

use gutta_protocol::derive::{Values as Derived, View};
use gutta_protocol::measures::{Group, Value, ValueOf, WHY_NOTHING, staying};
use gutta_protocol::plot::axis;
use gutta_protocol::pump::settings;
use gutta_quantity::{Exact, Quantity};

use super::{Context, Values, patients};

/// A value that is the same for every patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Same {
    /// `strength`.
    pub measure: String,
    /// `80 mcg/mL`; `None`: the pump cannot run it, or the bag does not run
    /// dry.
    pub value: Option<String>,
}

/// The patients of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patients {
    /// What they are told apart by: `weight`, `surface`.
    pub across: &'static str,
    /// The other of the two, where the order ranges over both and it matters:
    /// `1.8 m2`.
    pub with: Option<String>,
    /// `70 kg`, rising.
    pub all: Vec<String>,
}

/// Values by patient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Whom for.
    pub patients: Patients,
    /// Each measure with its values, one a patient; `None`: there is none.
    pub rows: Vec<(String, Vec<Option<String>>)>,
    /// Why a value may not be there, where one is not.
    pub note: Option<&'static str>,
}

/// How many patients a table shows at most.
#[derive(Clone, Copy)]
pub(super) enum Rows {
    /// As many as are round.
    All,
    /// So few that they give an idea.
    Few,
}

/// The values, each once.
pub(super) fn values(
    context: Context<'_>,
    derived: &Derived,
    groups: &[&Group<'_>],
    most: Rows,
) -> Values {
    let mut values = Values::default();
    let mut varying = Vec::new();
    for group in groups {
        match same(context, group) {
            Some(same) => values.same.push(same),
            None => varying.push(*group),
        }
    }
    if !varying.is_empty() {
        values.tables = tables(&derived.views, context, most, |view, x| {
            varying
                .iter()
                .map(|group| row(context, group, view, x))
                .collect()
        });
    }
    values
}

/// A table for each view, or one where the other of weight and surface does
/// not matter. `cells` gives the rows for one patient.
fn tables(
    views: &[View],
    context: Context<'_>,
    most: Rows,
    cells: impl Fn(&View, &Exact) -> Vec<(String, Option<String>)>,
) -> Vec<Table> {
    let mut all: Vec<Table> = Vec::new();
    for view in views {
        let Some((whom, places)) = whom(context, view, most) else {
            continue;
        };
        let mut rows: Vec<(String, Vec<Option<String>>)> = Vec::new();
        for x in &places {
            for (place, (name, cell)) in cells(view, x).into_iter().enumerate() {
                match rows.get_mut(place) {
                    Some((_, row)) => row.push(cell),
                    None => rows.push((name, vec![cell])),
                }
            }
        }
        let gap = rows.iter().any(|(_, row)| row.iter().any(Option::is_none));
        all.push(Table {
            patients: whom,
            rows,
            note: gap.then_some(WHY_NOTHING),
        });
    }
    let forget = |table: &mut Table| table.patients.with = None;
    alike(all, forget, |table| table.rows.clone())
}

/// Where all say the same for their patients, the first alone stands for all.
pub(super) fn alike<T, R: PartialEq>(
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

/// The patients of a view, and where they stand on its axis; `None` where it
/// tells none apart.
pub(super) fn whom(
    context: Context<'_>,
    view: &View,
    most: Rows,
) -> Option<(Patients, Vec<Exact>)> {
    let (across, unit) = axis(view)?;
    let places = match most {
        Rows::All => patients::of(view),
        Rows::Few => patients::few(view),
    };
    let told = |x: &Exact| {
        let patient = Quantity::new(x.clone(), unit);
        context.style.quantity(&patient).to_string()
    };
    let whom = Patients {
        across,
        with: staying(view, context.style).map(|with| with.to_string()),
        all: places.iter().map(told).collect(),
    };
    Some((whom, places))
}

/// What is the same for all, in all views.
fn same(context: Context<'_>, group: &Group<'_>) -> Option<Same> {
    let mut numbers = group.over.iter().map(|(view, value)| {
        let told = value.at(view.patients.interval.lo());
        told.map(|number| value.told(&number, context.style).to_string())
    });
    let first = numbers.next()?;
    let steady = group.is_same() || group.over.iter().all(|(_, value)| is_steady(value));
    let same = steady && numbers.all(|other| other == first);
    same.then(|| Same {
        measure: group.name(context.style),
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

fn row(
    context: Context<'_>,
    group: &Group<'_>,
    view: &View,
    x: &Exact,
) -> (String, Option<String>) {
    let value = group.in_view(view);
    let told = value.and_then(|value| Some(value.told(&value.at(x)?, context.style).to_string()));
    (group.name(context.style), told)
}
