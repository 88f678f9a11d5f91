//! Derived values as tables in Markdown.

use std::fmt::Write;

use gutta_checks::markdown::{cell, code, inline};

use super::text::{Table, told};
use super::{CAUTION, Derived};

impl Derived {
    /// A heading and a table an order.
    pub(crate) fn markdown(&self) -> String {
        let mut out = String::new();
        for order in &self.orders {
            let title = order.title.as_deref().unwrap_or(&order.name);
            let _ = writeln!(out, "## {}\n", inline(title));
            let _ = writeln!(out, "{} in {}\n", code(&order.name), code(&order.file));
            for why in &order.obstacles {
                let _ = writeln!(out, "Nothing is calculated: {}.\n", inline(why));
            }
            for patient in &order.outside {
                let _ = writeln!(out, "{patient} is not a patient of this order: no value.\n");
            }
            for setting in &order.settings {
                let _ = writeln!(out, "Note: {}.\n", inline(setting));
            }
            let named = order.phases.iter().any(|phase| phase.name.is_some());
            for phase in &order.phases {
                if named {
                    let name = phase.name.as_deref().unwrap_or("the whole order");
                    let _ = writeln!(out, "### {}\n", inline(name));
                }
                table(&Table::of(phase), &mut out);
            }
        }
        let _ = writeln!(out, "> {CAUTION}");
        out
    }
}

fn table(table: &Table<'_>, out: &mut String) {
    let heads = match table.patients.as_slice() {
        [] => vec!["value".to_owned()],
        patients => patients.to_vec(),
    };
    let _ = writeln!(out, "| measure | {} |", heads.join(" | "));
    let _ = writeln!(out, "| --- |{}", " --- |".repeat(heads.len()));
    for line in &table.lines {
        let cells: Vec<_> = line.cells.iter().map(|value| cell(&told(*value))).collect();
        let _ = writeln!(out, "| {} | {} |", cell(&line.measure), cells.join(" | "));
    }
    out.push('\n');
}
