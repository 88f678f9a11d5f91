//! An order at a glance: all that is derived from it, by patient, and each
//! flow with the limits that it must keep to, as text and exact decimals. A
//! view beside the editor shows it as it stands; nothing is computed there.

mod drawing;
#[cfg(test)]
mod tests;

use gutta_notation::StanzaKind;
use gutta_protocol::measures::{Group, Measures, NOTHING, gather, patients};
use gutta_protocol::model::Library;
use gutta_protocol::model::order::{Answer, Order};
use gutta_protocol::plot::Plot;
use gutta_protocol::{Analysis, StanzaId, Workspace};
use gutta_quantity::{Exact, Printed, Style};
use serde::Serialize;

use crate::table::{self, ByPatient, Choice, Measured};

pub use drawing::{Drawing, DrawnAxis, DrawnLine, LineKind, Point, Tick};

/// What is derived from one order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Overview {
    /// The order's name.
    pub name: String,
    /// Its title; where it has none, its name.
    pub title: String,
    /// Whether it is a specimen: an order that must be caught.
    pub specimen: bool,
    /// Whom and where it is for: `40 to 150 kg`, `adult-icu`, `central vein`.
    pub covers: Vec<String>,
    /// What keeps anything from being derived; then there is no part.
    pub missing: Vec<String>,
    /// The phases in order, and last the whole order.
    pub parts: Vec<Part>,
}

/// What is derived from one phase, or from the order as a whole.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Part {
    /// The phase, or `the whole order`; none for the only phase of an order.
    pub name: Option<String>,
    /// What is the same for every patient.
    pub same: Vec<Same>,
    /// What is not: a table for each view that has any.
    pub tables: Vec<Table>,
    /// The flow of each run.
    pub drawings: Vec<Drawing>,
}

/// A value that is the same for every patient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Same {
    /// `strength`.
    pub measure: String,
    /// `80 mcg/mL`.
    pub value: String,
}

/// Values by patient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Table {
    /// What the patients are told apart by: `weight` or `surface`.
    pub across: &'static str,
    /// The other of the two, where the order ranges over both: `1.8 m2`.
    pub with: Option<String>,
    /// The heads of the columns after the patient's.
    pub columns: Vec<Column>,
    /// The patients, rising.
    pub rows: Vec<Row>,
    /// Why a cell holds a dash, where one does.
    pub note: Option<String>,
}

/// The head of a column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Column {
    /// `flow`.
    pub measure: String,
    /// The unit of every number below it, which then stand without; none
    /// where each cell has its own (`5 h 57 min`).
    pub unit: Option<String>,
}

/// The values for one patient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Row {
    /// `70 kg`.
    pub patient: String,
    /// Whether it is the patient who was asked for.
    pub chosen: bool,
    /// In the order of the table's columns.
    pub values: Vec<String>,
}

impl Overview {
    /// Of an `order` or a `specimen`. A chosen weight in kg gets a row of its
    /// own wherever the order covers it.
    #[must_use]
    pub fn of(
        workspace: &Workspace,
        library: &Library,
        id: StanzaId,
        chosen: Option<&Exact>,
    ) -> Self {
        let analysis = Analysis::of(workspace, library, id);
        let order = &analysis.order;
        let style = workspace.house.style;
        let mut overview = Self::bare(workspace, id);
        overview.covers = covers(order, style);
        let line = |span| workspace.line_number(id, span);
        let values = match &analysis.values {
            Ok(values) => values,
            Err(incomplete) => {
                overview.missing = incomplete.told(line);
                return overview;
            }
        };
        overview.missing = gutta_checks::impossible_bags(order, values, line, style);
        if !overview.missing.is_empty() {
            return overview;
        }
        let groups = gather(&values.views, None, |view| {
            Measures { order, view }.all(None)
        });
        let plots = Plot::all(order, values);
        let phases = (0..order.phases.len()).map(Some);
        for phase in phases.chain([None]) {
            let of_phase =
                |group: &&Group<'_>| group.value().is_some_and(|value| value.phase == phase);
            let own: Vec<_> = groups.iter().filter(of_phase).collect();
            let drawn = plots.iter().filter(|plot| Some(plot.phase) == phase);
            let by_patient = ByPatient::of(&values.views, &own, Choice::Turns, chosen, style);
            let tables = by_patient.tables.iter();
            let part = Part {
                name: part_name(order, phase),
                same: same(&by_patient),
                tables: tables.map(|table| laid_out(table, chosen)).collect(),
                drawings: drawn
                    .map(|plot| Drawing::of(workspace, order, plot, style))
                    .collect(),
            };
            if !(part.same.is_empty() && part.tables.is_empty() && part.drawings.is_empty()) {
                overview.parts.push(part);
            }
        }
        overview
    }
}

impl Overview {
    /// Of an order from which nothing is derived, for a reason that does not lie
    /// in what it says.
    #[must_use]
    pub fn without(workspace: &Workspace, id: StanzaId, why: String) -> Self {
        let mut overview = Self::bare(workspace, id);
        overview.missing.push(why);
        overview
    }

    fn bare(workspace: &Workspace, id: StanzaId) -> Self {
        let stanza = workspace.stanza(id);
        let name = stanza.name.as_ref();
        let name = name.map_or_else(String::new, |name| name.value.to_string());
        let title = stanza.title.as_ref();
        Self {
            title: title.map_or_else(|| name.clone(), |title| title.value.to_string()),
            name,
            specimen: stanza.kind == StanzaKind::Specimen,
            covers: Vec::new(),
            missing: Vec::new(),
            parts: Vec::new(),
        }
    }
}

fn covers(order: &Order, style: Style) -> Vec<String> {
    let mut covers = vec![patients(order, style)];
    covers.push(match &order.area {
        Answer::Is(area) => area.name.to_string(),
        Answer::Any(_) => "any area".to_owned(),
        Answer::Unanswered => String::new(),
    });
    for phase in &order.phases {
        covers.push(match &phase.route {
            Answer::Is(route) => route.value.phrase().to_owned(),
            Answer::Any(_) => "any route".to_owned(),
            Answer::Unanswered => String::new(),
        });
    }
    covers.retain(|part| !part.is_empty());
    covers.dedup();
    covers
}

fn part_name(order: &Order, phase: Option<usize>) -> Option<String> {
    match phase {
        Some(phase) => order
            .phases
            .get(phase)?
            .name
            .as_ref()
            .map(ToString::to_string),
        None => Some("the whole order".to_owned()),
    }
}

/// What is the same for every patient.
fn same(values: &ByPatient) -> Vec<Same> {
    let told = values.same.iter().map(|same| Same {
        measure: same.measure.clone(),
        value: table::cell(same.value.as_ref()),
    });
    told.collect()
}

/// A table with a row a patient.
fn laid_out(table: &table::Table, chosen: Option<&Exact>) -> Table {
    let columns = table.measures.iter().map(|measure| Column {
        measure: measure.name.clone(),
        unit: one_unit(measure.cells.iter().flatten()),
    });
    let columns: Vec<_> = columns.collect();
    let value = |at: usize, measure: &Measured, column: &Column| {
        match (measure.cells.get(at).and_then(Option::as_ref), &column.unit) {
            // The head of the column has the unit.
            (Some(cell), Some(_)) => cell.number.clone(),
            (cell, _) => table::cell(cell),
        }
    };
    let patients = table.patients.all.iter().enumerate();
    let rows = patients.map(|(at, patient)| Row {
        patient: patient.told.to_string(),
        chosen: table.patients.across == "weight" && chosen == Some(&patient.at),
        values: table
            .measures
            .iter()
            .zip(&columns)
            .map(|(measure, column)| value(at, measure, column))
            .collect(),
    });
    let rows = rows.collect();
    Table {
        across: table.patients.across,
        with: table.patients.with.as_ref().map(Printed::to_string),
        columns,
        rows,
        note: table
            .note()
            .map(|why| format!("{NOTHING} no value: {why}.")),
    }
}

/// The unit of every value of a column, where all have the one.
fn one_unit<'c>(mut cells: impl Iterator<Item = &'c Printed>) -> Option<String> {
    let unit = &cells.next()?.unit;
    let one = !unit.is_empty() && cells.all(|other| other.unit == *unit);
    one.then(|| unit.clone())
}
