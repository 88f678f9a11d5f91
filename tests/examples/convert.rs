//! The tool's side of the oracles in `outside/oracles`.
//!
//! Reads lines `VALUE UNIT -> UNIT`; answers each with the exact value counted
//! in the second unit (`21/8`), `!` where the units are of different kinds, or
//! `?` where something could not be read; then the UCUM code of each unit (`-`
//! for none), parted by tabs.

use std::io::{self, BufRead, BufWriter, Write};

use gutta_quantity::{Exact, Quantity, Unit, machine};

fn main() -> io::Result<()> {
    let mut out = BufWriter::new(io::stdout().lock());
    for line in io::stdin().lock().lines() {
        writeln!(out, "{}", answer(&line?))?;
    }
    out.flush()
}

fn answer(line: &str) -> String {
    let Some((quantity, to)) = read(line) else {
        return "?\t-\t-".to_owned();
    };
    let value = quantity
        .to(to)
        .map_or("!".to_owned(), |value| machine::fraction(&value));
    let code = |unit: Unit| unit.ucum().unwrap_or_else(|| "-".to_owned());
    format!("{value}\t{}\t{}", code(quantity.unit), code(to))
}

fn read(line: &str) -> Option<(Quantity, Unit)> {
    let (quantity, to) = line.split_once(" -> ")?;
    let (value, unit) = quantity.split_once(' ')?;
    let quantity = Quantity::new(Exact::parse_decimal(value)?, Unit::parse(unit)?);
    Some((quantity, Unit::parse(to)?))
}
