//! Derived values for people: for each order a table with a column a patient.

use std::collections::{HashMap, HashSet};
use std::fmt::Write;

use gutta_notation::visible_line;
use gutta_protocol::measures::{NOTHING, WHY_NOTHING};
use gutta_quantity::Exact;
use unicode_width::UnicodeWidthStr;

use super::{CAUTION, Derived, DerivedOrder, DerivedPhase, DerivedValue, PatientSetting, Size};
use crate::files::Root;
use crate::prose::Prose;

/// Between columns.
const GAP: usize = 3;

/// A line of the table: a measure and its value in each column.
pub(super) struct Line<'a> {
    pub(super) measure: String,
    pub(super) cells: Vec<Option<&'a DerivedValue>>,
}

/// A phase's values by patient.
pub(super) struct Table<'a> {
    pub(super) patients: Vec<String>,
    pub(super) lines: Vec<Line<'a>>,
}

impl Derived {
    /// Aligned tables, with the steps to each value where they are asked for.
    pub(crate) fn text(&self, root: &Root, prose: Prose, width: usize, working: bool) -> String {
        let mut out = String::new();
        for order in &self.orders {
            let title = order.title.as_deref().unwrap_or("");
            let place = format!("{}:{}", root.shown(&order.file), order.line);
            let _ = writeln!(
                out,
                "{}  {}",
                prose.strong(&order.name),
                visible_line(title).trim()
            );
            let _ = writeln!(out, "{}", prose.faint(&visible_line(&place)));
            if !order.obstacles.is_empty() {
                let why = format!("Nothing is calculated: {}.", order.obstacles.join("; "));
                out.push_str(&prose.hanging(&visible_line(&why), "  ", "  "));
            }
            for patient in &order.outside {
                let said = format!("{patient} is not a patient of this order: no value.");
                out.push_str(&prose.hanging(&said, "  ", "  "));
            }
            for setting in &order.settings {
                let said = format!("Note: {setting}.");
                out.push_str(&prose.hanging(&visible_line(&said), "  ", "  "));
            }
            out.push_str(&self::order(order, prose, width, working));
            out.push('\n');
        }
        out.push_str(&prose.faint(prose.paragraph(CAUTION, "").trim_end()));
        out.push('\n');
        out
    }
}

fn order(order: &DerivedOrder, prose: Prose, width: usize, working: bool) -> String {
    let named = order.phases.iter().any(|phase| phase.name.is_some());
    let tables: Vec<_> = order.phases.iter().map(Table::of).collect();
    let all = tables.iter().flat_map(|table| &table.lines);
    let measure = all.map(|line| line.measure.width()).max().unwrap_or(0);
    let mut out = String::new();
    for (phase, table) in order.phases.iter().zip(&tables) {
        if named && !table.lines.is_empty() {
            let name = phase.name.as_deref().unwrap_or("the whole order");
            let _ = writeln!(out, "\n  {}", prose.strong(name));
        } else {
            out.push('\n');
        }
        table.write(&mut out, measure, prose, width);
        if phase.values.iter().any(|value| value.number.is_none()) {
            let _ = writeln!(out, "  {NOTHING} no value: {WHY_NOTHING}");
        }
        if working {
            steps(phase, &mut out, prose);
        }
    }
    out
}

fn steps(phase: &DerivedPhase, out: &mut String, prose: Prose) {
    for value in &phase.values {
        if value.working.is_empty() {
            continue;
        }
        let mut head = value.head();
        let PatientSetting {
            weight,
            surface,
            dose,
        } = &value.at;
        let sizes = [weight, surface].into_iter().flatten();
        let sizes = sizes.map(|size| &size.text);
        for part in sizes.chain(dose) {
            let _ = write!(head, " at {part}");
        }
        let _ = writeln!(out, "\n  {}", prose.strong(&head));
        for step in &value.working {
            out.push_str(&prose.hanging(&visible_line(step), "    ", "      "));
        }
    }
}

impl Line<'_> {
    /// Whether the same value stands here, the same for everybody.
    fn holds(&self, value: &DerivedValue) -> bool {
        fn exact(value: &DerivedValue) -> Option<&str> {
            value.number.as_ref().map(|number| number.exact.as_str())
        }
        self.cells
            .iter()
            .flatten()
            .any(|other| other.constant && other.unit == value.unit && exact(other) == exact(value))
    }

    /// Whether the value of another patient belongs here.
    fn takes(&self, column: usize, value: &DerivedValue) -> bool {
        let like = |other: &&DerivedValue| !other.constant && other.unit == value.unit;
        self.cells.get(column).is_some_and(Option::is_none) && self.cells.iter().flatten().all(like)
    }
}

impl<'a> Table<'a> {
    /// Gathers a phase's values by measure and patient. A value that is the
    /// same for everybody stands in every column: a gap could be misread.
    pub(super) fn of(phase: &'a DerivedPhase) -> Self {
        let mut patients: Vec<(&PatientSetting, String)> = Vec::new();
        let mut seen = HashSet::new();
        let varying = phase.values.iter().filter(|value| !value.constant);
        for value in varying {
            let patient = value.at.patient();
            if seen.insert(patient.clone()) {
                patients.push((&value.at, patient));
            }
        }
        patients.sort_by_cached_key(|(at, _)| order_of(at));
        let patients: Vec<_> = patients.into_iter().map(|(_, patient)| patient).collect();
        let of_patient: HashMap<_, _> = patients.iter().zip(0..).collect();
        let columns = patients.len().max(1);
        let mut lines: Vec<Line<'a>> = Vec::new();
        // The lines of a measure: however many lines there are, those are few.
        let mut of_measure: HashMap<String, Vec<usize>> = HashMap::new();
        for value in &phase.values {
            let mut measure = value.head();
            if let Some(dose) = &value.at.dose {
                let _ = write!(measure, " at {dose}");
            }
            let own = of_measure.entry(measure.clone()).or_default();
            let mut own_lines = own.iter().filter_map(|place| lines.get(*place));
            if value.constant {
                if !own_lines.any(|line| line.holds(value)) {
                    own.push(lines.len());
                    let cells = vec![Some(value); columns];
                    lines.push(Line { measure, cells });
                }
                continue;
            }
            let column = of_patient.get(&value.at.patient()).copied().unwrap_or(0);
            // Two values of one measure (two runs, or a bolus by volume and by
            // amount) take a line each.
            let takes = own_lines.position(|line| line.takes(column, value));
            let place = takes.and_then(|index| own.get(index).copied());
            match place.and_then(|place| lines.get_mut(place)) {
                Some(line) => line.cells[column] = Some(value),
                None => {
                    own.push(lines.len());
                    let mut cells = vec![None; columns];
                    cells[column] = Some(value);
                    lines.push(Line { measure, cells });
                }
            }
        }
        Self { patients, lines }
    }

    fn write(&self, out: &mut String, measure: usize, prose: Prose, width: usize) {
        let columns = self.patients.len().max(1);
        let widths: Vec<_> = (0..columns)
            .map(|column| {
                let head = self.patients.get(column).map_or(0, |head| head.width());
                let cells = self
                    .lines
                    .iter()
                    .map(|line| told(line.cells[column]).width());
                cells.max().unwrap_or(0).max(head)
            })
            .collect();
        let mut from = 0;
        while from < columns {
            let mut to = from;
            let mut used = 2 + measure;
            while to < columns && (to == from || used + GAP + widths[to] <= width) {
                used += GAP + widths[to];
                to += 1;
            }
            if from > 0 {
                out.push('\n');
            }
            if !self.patients.is_empty() {
                let mut head = " ".repeat(2 + measure);
                for (patient, width) in self.patients[from..to].iter().zip(&widths[from..to]) {
                    pad(&mut head, patient, *width);
                }
                let _ = writeln!(out, "{}", prose.faint(head.trim_end()));
            }
            for line in &self.lines {
                if line.cells[from..to].iter().all(Option::is_none) {
                    continue;
                }
                let mut row = format!("  {}", line.measure);
                let padding = measure.saturating_sub(line.measure.width());
                row.extend(std::iter::repeat_n(' ', padding));
                for (cell, width) in line.cells[from..to].iter().zip(&widths[from..to]) {
                    pad(&mut row, &told(*cell), *width);
                }
                let _ = writeln!(out, "{}", row.trim_end());
            }
            from = to;
        }
    }
}

fn pad(row: &mut String, cell: &str, width: usize) {
    row.extend(std::iter::repeat_n(' ', GAP));
    row.push_str(cell);
    row.extend(std::iter::repeat_n(' ', width.saturating_sub(cell.width())));
}

/// A cell: the value as people read it; a dash where the pump cannot run it.
pub(super) fn told(value: Option<&DerivedValue>) -> String {
    match value {
        None => String::new(),
        Some(DerivedValue {
            number: Some(number),
            ..
        }) => number.told.clone(),
        Some(_) => NOTHING.to_owned(),
    }
}

/// Patients rise by weight, then by surface.
fn order_of(at: &PatientSetting) -> (Option<Exact>, Option<Exact>) {
    let value = |size: &Option<Size>| size.as_ref().map(|size| size.value.clone());
    (value(&at.weight), value(&at.surface))
}
