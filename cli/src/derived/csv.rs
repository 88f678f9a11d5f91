//! Derived values as a table for other programs, a value a row.

use super::{CAUTION, Derived};
use crate::failure::Failure;
use crate::out::csv::Cell::{Own, Theirs};
use crate::out::csv::Table;

const HEAD: [&str; 13] = [
    "order", "file", "phase", "measure", "part", "weight", "surface", "dose", "exact", "decimal",
    "shown", "unit", "note",
];

impl Derived {
    /// As rows below a head; the last column says why a number is not there,
    /// and what the numbers are good for.
    pub(crate) fn csv(&self) -> Result<Table, Failure> {
        let mut out = Table::of(&HEAD)?;
        for order in &self.orders {
            let mut notes: Vec<String> = Vec::new();
            notes.extend(
                order
                    .obstacles
                    .iter()
                    .map(|why| format!("incomplete: {why}")),
            );
            notes.extend(
                order
                    .outside
                    .iter()
                    .map(|who| format!("not covered: {who}")),
            );
            notes.extend(
                order
                    .settings
                    .iter()
                    .map(|setting| format!("not allowed: {setting}")),
            );
            for note in &notes {
                let mut row = [Own(""); 13];
                (row[0], row[1], row[12]) =
                    (Theirs(&order.name), Theirs(&order.file), Theirs(note));
                out.row(&row)?;
            }
            for phase in &order.phases {
                for value in &phase.values {
                    let text = |part: &'_ Option<String>| part.clone().unwrap_or_default();
                    let phase = text(&phase.name);
                    let part = text(&value.part);
                    let sizes = [&value.at.weight, &value.at.surface];
                    let [weight, surface] = sizes.map(|size| match size {
                        Some(size) => size.text.as_str(),
                        None => "",
                    });
                    let dose = text(&value.at.dose);
                    let number = value.number.clone();
                    let [exact, decimal, shown] = number.map_or_else(Default::default, |number| {
                        [number.exact, number.decimal, number.shown]
                    });
                    out.row(&[
                        Theirs(&order.name),
                        Theirs(&order.file),
                        Theirs(&phase),
                        Theirs(&value.measure),
                        Theirs(&part),
                        Own(weight),
                        Own(surface),
                        Own(&dose),
                        Own(&exact),
                        Own(&decimal),
                        Own(&shown),
                        Own(&value.unit),
                        Own(CAUTION),
                    ])?;
                }
            }
        }
        Ok(out)
    }
}
