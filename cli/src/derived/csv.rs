//! Derived values as a table for other programs (RFC 4180), a value a row.

use csv::WriterBuilder;

use super::{CAUTION, Derived};
use crate::failure::Failure;

const HEAD: [&str; 13] = [
    "order", "file", "phase", "measure", "part", "weight", "surface", "dose", "exact", "decimal",
    "shown", "unit", "note",
];

impl Derived {
    /// As rows below a head; the last column says why a number is not there,
    /// and what the numbers are good for.
    pub(crate) fn csv(&self) -> Result<Vec<u8>, Failure> {
        let wrong = |error: csv::Error| Failure::new(format!("cannot write CSV: {error}"));
        let mut out = WriterBuilder::new().from_writer(Vec::new());
        out.write_record(HEAD).map_err(wrong)?;
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
                let mut row = [""; 13];
                (row[0], row[1], row[12]) = (&order.name, &order.file, note);
                out.write_record(row).map_err(wrong)?;
            }
            for phase in &order.phases {
                for value in &phase.values {
                    let text = |part: &'_ Option<String>| part.clone().unwrap_or_default();
                    let number = value.number.clone();
                    let [exact, decimal, shown] = number.map_or_else(Default::default, |number| {
                        [number.exact, number.decimal, number.shown]
                    });
                    let row = [
                        order.name.clone(),
                        order.file.clone(),
                        text(&phase.name),
                        value.measure.clone(),
                        text(&value.part),
                        text(&value.at.weight),
                        text(&value.at.surface),
                        text(&value.at.dose),
                        exact,
                        decimal,
                        shown,
                        value.unit.clone(),
                        CAUTION.to_owned(),
                    ];
                    out.write_record(row).map_err(wrong)?;
                }
            }
        }
        out.into_inner()
            .map_err(|error| Failure::new(format!("cannot write CSV: {error}")))
    }
}
