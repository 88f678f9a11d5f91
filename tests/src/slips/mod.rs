//! Makes slips in a right order, one at a time.

mod bags;
mod kinds;
pub mod line;
mod lines;
mod patients;
mod runs;

use gutta_quantity::Exact;

use crate::right::Right;
use crate::seed::Seed;

pub use kinds::{KINDS, Kind};

/// One slip in one order.
#[derive(Clone, Debug)]
pub struct Slip {
    /// What it is about.
    pub kind: Kind,
    /// The order's lines with the slip in them.
    pub lines: Vec<String>,
    /// What it makes of the run's dose, as a factor, at the lightest and at
    /// the heaviest patient; nothing where it is about something else.
    pub dose: Option<(Exact, Exact)>,
}

/// Every slip that this order can hold; chance says which other route, diluent
/// or letter.
pub fn all(order: &Right, seed: &mut Seed) -> Vec<Slip> {
    let mut maker = Maker {
        order,
        seed,
        made: Vec::new(),
    };
    maker.numbers_of_runs();
    maker.of_patients();
    maker.of_bags();
    maker.left_out();
    maker.renamed();
    maker.widened();
    maker.unreadable();
    maker.made.retain(|slip| slip.lines != order.lines);
    maker.made
}

/// Makes slips in an order.
struct Maker<'a> {
    order: &'a Right,
    seed: &'a mut Seed,
    made: Vec<Slip>,
}

impl Maker<'_> {
    pub(super) fn lines(&self) -> Vec<(usize, String)> {
        self.order
            .lines
            .iter()
            .cloned()
            .enumerate()
            .skip(1)
            .collect()
    }

    pub(super) fn push(&mut self, kind: Kind, at: usize, line: String, factor: Option<Exact>) {
        let dose = factor.map(|factor| (factor.clone(), factor));
        self.push_by_weight(kind, at, line, dose);
    }

    pub(super) fn push_by_weight(
        &mut self,
        kind: Kind,
        at: usize,
        line: String,
        dose: Option<(Exact, Exact)>,
    ) {
        let mut lines = self.order.lines.clone();
        lines[at] = line;
        self.made.push(Slip { kind, lines, dose });
    }

    pub(super) fn delete(&mut self, kind: Kind, at: usize) {
        let mut lines = self.order.lines.clone();
        lines.remove(at);
        self.made.push(Slip {
            kind,
            lines,
            dose: None,
        });
    }
}

pub(super) fn ratio(num: i64, den: i64) -> Exact {
    Exact::ratio(num, den).expect("a ratio")
}

/// Units a thousandfold apart, with what the change makes of the value.
pub(super) fn thousandfold(unit: &str) -> Vec<(&'static str, Exact)> {
    let up = || Exact::int(1_000);
    let down = || Exact::ten_to(-3);
    match unit {
        "g" => vec![("mg", down())],
        "mg" => vec![("mcg", down()), ("g", up())],
        "mcg" => vec![("ng", down()), ("mg", up())],
        "ng" => vec![("mcg", up())],
        "units" => vec![("milliunits", down())],
        "milliunits" => vec![("units", up())],
        _ => Vec::new(),
    }
}
