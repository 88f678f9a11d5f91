//! Reading `gutta.toml`.
//!
//! The document's own tree is walked, in which numbers are still texts: no
//! bound of a house may pass through floating point.

mod values;

use std::fmt;
use std::ops::Range;

use gutta_notation::{DigitGroups, Micro};
use gutta_quantity::{Atom, Exact, Unit};
use smol_str::SmolStr;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

use self::values::{drops, minutes, quantity, share};
use super::positions::Positions;
use super::{House, SeveritySetting};
use crate::Severity;
use crate::names::nearest;

/// A key of `gutta.toml`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// The table it stands in; empty for the top of the file.
    pub table: &'static str,
    /// The key.
    pub name: &'static str,
    /// How a value of it is written.
    pub example: &'static str,
}

const fn key(table: &'static str, name: &'static str, example: &'static str) -> Key {
    Key {
        table,
        name,
        example,
    }
}

/// The keys of `gutta.toml`, each with an example. The table `[severity]` holds
/// names of rules instead.
pub const KEYS: [Key; 17] = [
    key("", "digit-groups", "\"comma\" or \"space\""),
    key("", "micrograms", "\"mcg\" or \"micrograms\""),
    key("", "exclude", "[\"old/**\"]"),
    key("default", "pump", "\"syringe\""),
    key("default", "area", "\"adult-icu\""),
    key("default", "giving-set", "\"macro\""),
    key("house", "rounding-tolerance", "\"10 %\""),
    key("house", "counted-as-tolerance", "\"5 %\""),
    key("house", "reference-tolerance", "\"10 %\""),
    key("house", "peripheral-osmolarity", "\"900 mOsm/L\""),
    key("house", "left-over", "\"50 %\""),
    key("house", "countable-drops", "\"5 to 150 drops/min\""),
    key("house", "line-delay", "\"30 min\""),
    key("house", "left-in-line", "\"10 %\""),
    key("house", "marked-change", "\"10 %\""),
    key(
        "house",
        "syringe-marks",
        "[\"0.1 mL to 5 mL\", \"0.2 mL to 10 mL\"]",
    ),
    key("house", "hang-time", "\"24 h\""),
];

/// A file larger than this is no house's settings: it is told, and not read.
const MOST_BYTES: usize = 256 * 1024;

const TABLES: [&str; 3] = ["default", "house", "severity"];

/// What is wrong with a house's settings, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HouseFault {
    /// What is wrong, and what could stand there.
    pub message: String,
    /// The line, from 1.
    pub line: u32,
    /// The column in characters, from 1.
    pub column: u32,
}

impl fmt::Display for HouseFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "line {}, column {}: {}",
            self.line, self.column, self.message
        )
    }
}

impl std::error::Error for HouseFault {}

type Value<'a> = Spanned<DeValue<'a>>;

/// A fault, and the bytes it is about.
struct Fault {
    message: String,
    span: Range<usize>,
}

impl Fault {
    fn at(span: Range<usize>, message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            span,
        }
    }
}

impl House {
    /// The settings of a `gutta.toml`; what it leaves out has its default.
    ///
    /// # Errors
    ///
    /// Everything that is no key of a house, or no value of its key, in the
    /// order of the text; or the first thing that is not TOML. Nothing of a
    /// file with a fault holds.
    pub fn from_toml(text: &str) -> Result<Self, Vec<HouseFault>> {
        if text.len() > MOST_BYTES {
            let message = format!(
                "a house's settings take no more than {} KiB, and these are larger; nothing of them was read",
                MOST_BYTES / 1024
            );
            return Err(vec![HouseFault {
                message,
                line: 1,
                column: 1,
            }]);
        }
        let text = &Positions::of(text);
        let mut faults = Vec::new();
        let house = read(text, &mut faults);
        if faults.is_empty() {
            return Ok(house);
        }
        faults.sort_by_key(|fault| fault.span.start);
        let told = faults.into_iter().map(|fault| {
            let (line, column) = text.position(fault.span.start);
            HouseFault {
                message: fault.message,
                line,
                column,
            }
        });
        Err(told.collect())
    }
}

fn read(text: &Positions<'_>, faults: &mut Vec<Fault>) -> House {
    let mut house = House::default();
    let document = match DeTable::parse(text.text()) {
        Ok(document) => document,
        Err(error) => {
            let span = error.span().unwrap_or(0..0);
            faults.push(Fault::at(span, error.message().trim()));
            return house;
        }
    };
    for (key, value) in document.get_ref() {
        let name: &str = key.get_ref();
        if !TABLES.contains(&name) {
            faults.extend(read_key(&mut house, "", key, value, text).err());
            continue;
        }
        let Some(table) = value.get_ref().as_table() else {
            faults.push(Fault::at(value.span(), format!("`[{name}]` is a table")));
            continue;
        };
        if name == "severity" {
            severities(&mut house.severity, "", table, text, faults);
            continue;
        }
        for (key, value) in table {
            faults.extend(read_key(&mut house, name, key, value, text).err());
        }
    }
    house
        .severity
        .sort_by_key(|setting| (setting.line, setting.column));
    house
}

fn read_key(
    house: &mut House,
    table: &str,
    key: &Spanned<DeString<'_>>,
    value: &Value<'_>,
    text: &Positions<'_>,
) -> Result<(), Fault> {
    let name: &str = key.get_ref();
    let known = KEYS
        .iter()
        .find(|known| known.table == table && known.name == name);
    let Some(known) = known else {
        return Err(unknown_key(table, name, key.span()));
    };
    let position = text.position(key.span().start);
    house.positions.push((known.name, position));
    let fault = |message: &str| format!("{name} {message}");
    match set(house, known.name, value) {
        Ok(true) => Ok(()),
        Ok(false) => {
            let message = fault(&format!("is written as {}", known.example));
            Err(Fault::at(value.span(), message))
        }
        Err(Fault { message, span }) => Err(Fault::at(span, fault(&message))),
    }
}

fn unknown_key(table: &str, name: &str, span: Range<usize>) -> Fault {
    // A key in the wrong table is known, and so is its home.
    let home = KEYS.iter().find(|key| key.name == name);
    let here = KEYS.iter().filter(|key| key.table == table);
    let names: Vec<_> = here
        .map(|key| key.name)
        .chain(TABLES.into_iter().filter(|_| table.is_empty()))
        .collect();
    let near = nearest(name, names.iter().copied());
    let help = match (home, near.first()) {
        (Some(Key { table: "", .. }), _) => "it stands above the tables".to_owned(),
        (Some(Key { table, .. }), _) => format!("it stands in `[{table}]`"),
        (None, Some(near)) => format!("was `{near}` meant?"),
        (None, None) => format!("here stand {}", names.join(", ")),
    };
    let of = if table.is_empty() {
        String::new()
    } else {
        format!(" of `[{table}]`")
    };
    Fault::at(span, format!("`{name}` is no key{of}: {help}"))
}

/// Sets one key; `false` where the value is not of its form.
fn set(house: &mut House, key: &str, value: &Value<'_>) -> Result<bool, Fault> {
    let words = value.get_ref().as_str();
    let name = || {
        let name = words?.trim();
        (!name.is_empty()).then(|| Some(SmolStr::from(name)))
    };
    Ok(match key {
        "digit-groups" => {
            let groups = match words {
                Some("comma") => Some(DigitGroups::Comma),
                Some("space") => Some(DigitGroups::Space),
                _ => None,
            };
            put(&mut house.style.digit_groups, groups)
        }
        "micrograms" => {
            let micro = match words {
                Some("mcg") => Some(Micro::Mcg),
                Some("micrograms") => Some(Micro::Micrograms),
                _ => None,
            };
            put(&mut house.style.micro, micro)
        }
        "pump" => put(&mut house.pump, name()),
        "area" => put(&mut house.area, name()),
        "giving-set" => put(&mut house.giving_set, name()),
        "rounding-tolerance" => put(&mut house.rounding_tolerance, words.and_then(share)),
        "counted-as-tolerance" => put(&mut house.counted_as_tolerance, words.and_then(share)),
        "reference-tolerance" => put(&mut house.reference_tolerance, words.and_then(share)),
        "left-over" => put(&mut house.left_over, words.and_then(share)),
        "left-in-line" => put(&mut house.left_in_line, words.and_then(share)),
        "marked-change" => put(&mut house.marked_change, words.and_then(share)),
        "peripheral-osmolarity" => put(
            &mut house.peripheral_osmolarity,
            words.and_then(|words| quantity(words, Unit::over(Atom::MOsm, Atom::L))),
        ),
        "line-delay" => put(&mut house.line_delay, words.and_then(minutes)),
        "hang-time" => put(&mut house.hang_time, words.and_then(minutes).map(Some)),
        "countable-drops" => words.and_then(drops).is_some_and(|(low, high)| {
            house.drops_low = low;
            house.drops_high = high;
            true
        }),
        "syringe-marks" => put(&mut house.syringe_marks, syringe_marks(value)?),
        "exclude" => {
            let globs = texts(value)?;
            let globs =
                globs.map(|globs| globs.iter().map(|(glob, _)| (*glob).to_owned()).collect());
            put(&mut house.exclude, globs)
        }
        _ => false,
    })
}

/// Puts what was found in its place; whether anything was.
fn put<T>(place: &mut T, found: Option<T>) -> bool {
    found.map(|found| *place = found).is_some()
}

/// `"flow.no-pump" = "warning"`, or the same in a table of its family.
fn severities(
    into: &mut Vec<SeveritySetting>,
    family: &str,
    table: &DeTable<'_>,
    text: &Positions<'_>,
    faults: &mut Vec<Fault>,
) {
    for (key, value) in table {
        let name: &str = key.get_ref();
        if let (Some(table), true) = (value.get_ref().as_table(), family.is_empty()) {
            severities(into, &format!("{name}."), table, text, faults);
            continue;
        }
        let severity = value.get_ref().as_str().and_then(Severity::of_word);
        let Some(severity) = severity else {
            let message = format!(
                "`{family}{name}` takes \"error\", \"warning\", \"information\" or \"hint\""
            );
            faults.push(Fault::at(value.span(), message));
            continue;
        };
        let (line, column) = text.position(key.span().start);
        into.push(SeveritySetting {
            rule: format!("{family}{name}").into(),
            severity,
            line,
            column,
        });
    }
}

/// A text of a list, and its place.
type Item<'a> = (&'a str, Range<usize>);

/// The texts of a list; `None` if it is no list.
fn texts<'a>(value: &'a Value<'_>) -> Result<Option<Vec<Item<'a>>>, Fault> {
    let Some(items) = value.get_ref().as_array() else {
        return Ok(None);
    };
    items
        .iter()
        .map(|item| match item.get_ref().as_str() {
            Some(text) => Ok((text, item.span())),
            None => Err(Fault::at(
                item.span(),
                "is a list whose members stand in quotes",
            )),
        })
        .collect::<Result<_, _>>()
        .map(Some)
}

/// `["0.1 mL to 5 mL", …]`: from mark to mark, up to this size; in rising
/// order.
fn syringe_marks(value: &Value<'_>) -> Result<Option<Vec<(Exact, Exact)>>, Fault> {
    let Some(items) = texts(value)? else {
        return Ok(None);
    };
    let mut marks: Vec<(Exact, Exact)> = Vec::new();
    for (item, span) in items {
        let millilitres = |words: &str| quantity(words, Unit::new(Atom::ML));
        let pair = item.split_once(" to ").and_then(|(mark, size)| {
            Some((millilitres(size)?, millilitres(mark)?)).filter(|(size, mark)| mark <= size)
        });
        match pair {
            Some(pair) if marks.last().is_none_or(|last| *last < pair) => marks.push(pair),
            Some(_) => {
                return Err(Fault::at(
                    span,
                    "is a list whose sizes rise from one to the next",
                ));
            }
            None => {
                let message = "is a list of marks and sizes: \"0.1 mL to 5 mL\" is from mark to mark, and up to which size";
                return Err(Fault::at(span, message));
            }
        }
    }
    Ok((!marks.is_empty()).then_some(marks))
}

#[cfg(test)]
mod tests;
