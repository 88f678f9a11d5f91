//! What changed, for programs.

use gutta_protocol::CAUTION;
use gutta_quantity::machine;
use serde::Serialize;

use super::words::{Compared, kind};
use crate::compare::{Change, Effect, Fate, Row, Site, Subject, Turn, ValueText};

/// All that changed, as it is written.
#[derive(Debug, Serialize)]
pub struct Document<'a> {
    caution: &'static str,
    before: &'a str,
    after: &'a str,
    /// Whether everything was compared, and means what it meant.
    same: bool,
    /// A relative change of more than this is marked, as a fraction.
    threshold: String,
    orders: Orders,
    changed: Vec<OneSubject<'a>>,
    not_compared: &'a [String],
    specimens: &'a [String],
}

#[derive(Debug, Serialize)]
struct Orders {
    before: usize,
    after: usize,
    same: usize,
}

#[derive(Debug, Serialize)]
struct OneSubject<'a> {
    kind: &'static str,
    name: &'a str,
    title: Option<&'a str>,
    fate: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<&'a str>,
    before: Option<Place<'a>>,
    after: Option<Place<'a>>,
    marked: bool,
    used_by: Vec<&'a str>,
    /// Which of an order's strength, dose and flow stay, where others change.
    kept: &'a [&'static str],
    changes: Vec<OneChange<'a>>,
}

#[derive(Debug, Serialize)]
struct Place<'a> {
    file: &'a str,
    line: usize,
}

#[derive(Debug, Serialize)]
struct OneChange<'a> {
    what: &'a str,
    phase: Option<&'a str>,
    turn: &'static str,
    effect: Option<&'static str>,
    derived: bool,
    marked: bool,
    greatest: Option<Most<'a>>,
    rows: Vec<OneRow<'a>>,
}

#[derive(Debug, Serialize)]
struct Most<'a> {
    /// A fraction: `21/8`.
    ratio: String,
    at: Option<&'a str>,
    certain: bool,
}

#[derive(Debug, Serialize)]
struct OneRow<'a> {
    at: Option<&'a str>,
    before: Option<Value<'a>>,
    after: Option<Value<'a>>,
    ratio: Option<String>,
}

#[derive(Debug, Serialize)]
struct Value<'a> {
    shown: &'a str,
    exact: Option<String>,
    unit: Option<String>,
}

impl Compared {
    /// As one document.
    #[must_use]
    pub fn document(&self) -> Document<'_> {
        let all = &self.comparison;
        Document {
            caution: CAUTION,
            before: &self.before,
            after: &self.after,
            same: all.is_same(),
            threshold: machine::fraction(&all.threshold),
            orders: Orders {
                before: all.orders_before,
                after: all.orders_after,
                same: all.orders_same,
            },
            changed: all.subjects.iter().map(subject).collect(),
            not_compared: &all.not_compared,
            specimens: &all.specimens,
        }
    }
}

fn subject(subject: &Subject) -> OneSubject<'_> {
    OneSubject {
        kind: kind(subject),
        name: &subject.name,
        title: subject.title.as_deref(),
        fate: match subject.fate {
            Fate::Added => "new",
            Fate::Removed => "gone",
            Fate::Renamed { .. } => "renamed",
            Fate::Changed => "changed",
        },
        from: match &subject.fate {
            Fate::Renamed { from } => Some(from),
            _ => None,
        },
        before: subject.before.as_ref().map(site),
        after: subject.after.as_ref().map(site),
        marked: subject.marked,
        used_by: subject.used_by.iter().map(|name| name.as_str()).collect(),
        kept: &subject.kept,
        changes: subject.changes.iter().map(change).collect(),
    }
}

fn site(site: &Site) -> Place<'_> {
    Place {
        file: &site.file,
        line: site.line,
    }
}

fn change(change: &Change) -> OneChange<'_> {
    OneChange {
        what: &change.what,
        phase: change.phase.as_deref(),
        turn: match change.turn {
            Turn::Added => "new",
            Turn::Removed => "dropped",
            Turn::Changed => "changed",
        },
        effect: match change.effect {
            Effect::Widened => Some("widened"),
            Effect::Narrowed => Some("narrowed"),
            Effect::Neither => None,
        },
        derived: change.derived,
        marked: change.marked,
        greatest: change.greatest.as_ref().map(|greatest| Most {
            ratio: machine::fraction(&greatest.ratio),
            at: greatest.at.as_deref(),
            certain: greatest.certain,
        }),
        rows: change.rows.iter().map(row).collect(),
    }
}

fn row(row: &Row) -> OneRow<'_> {
    OneRow {
        at: row.at.as_deref(),
        before: row.before.as_ref().map(value),
        after: row.after.as_ref().map(value),
        ratio: row.ratio.as_ref().map(machine::fraction),
    }
}

fn value(told: &ValueText) -> Value<'_> {
    Value {
        shown: &told.text,
        exact: told
            .number
            .as_ref()
            .map(|(number, _)| machine::fraction(number)),
        unit: told.number.as_ref().map(|(_, unit)| machine::unit(*unit)),
    }
}
