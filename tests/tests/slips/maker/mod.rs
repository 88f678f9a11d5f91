//! Makes slips in a right order, one at a time.

mod bags;
mod lines;
mod patients;
mod runs;

use gutta_quantity::Exact;

use super::kinds::Kind;
use super::right::Right;
use super::seed::Seed;

/// One slip in one order.
#[derive(Clone, Debug)]
pub(crate) struct Slip {
    pub(crate) kind: Kind,
    /// The order's lines with the slip in them.
    pub(crate) lines: Vec<String>,
    /// What it makes of the run's dose, as a factor, at the lightest and at
    /// the heaviest patient; nothing where it is about something else.
    pub(crate) dose: Option<(Exact, Exact)>,
}

/// Makes slips in an order.
pub(crate) struct Maker<'a> {
    pub(crate) order: &'a Right,
    pub(crate) seed: &'a mut Seed,
    pub(crate) made: Vec<Slip>,
}

impl Maker<'_> {
    /// Makes every slip that this order can hold.
    pub(crate) fn all(&mut self) {
        self.numbers_of_runs();
        self.of_patients();
        self.of_bags();
        self.left_out();
        self.renamed();
        self.widened();
        self.unreadable();
    }

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
