//! Reading `gutta.toml`.
//!
//! The document's own tree is walked, in which numbers are still texts: no
//! bound of a house may pass through floating point.

mod values;

use std::fmt;
use std::ops::Range;
use std::sync::LazyLock;

use gutta_quantity::{Atom, Exact, Unit};
use smol_str::SmolStr;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

use self::values::{drops, minutes, quantity, share};
use super::positions::Positions;
use super::settings::{Form, SETTINGS, Setting, TABLES};
use super::{House, SeveritySetting};
use crate::Severity;
use crate::names::nearest;

/// A file larger than this is no house's settings: it is told, and not read.
const MOST_BYTES: usize = 256 * 1024;

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
                "the settings may have no more than {} KiB, and these are larger; none of them was read",
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
        let house = read(text, Self::default(), &mut faults);
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

/// Reads the text over what holds without it.
fn read(text: &Positions<'_>, start: House, faults: &mut Vec<Fault>) -> House {
    let mut house = start;
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
        if !TABLES.iter().any(|(table, _)| *table == name) {
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
    let mut settings = SETTINGS.iter();
    let known = settings.find(|known| known.table == table && known.key == name);
    let Some(known) = known else {
        return Err(unknown_key(table, name, key.span()));
    };
    let position = text.position(key.span().start);
    house.positions.push((known.key, position));
    let fault = |message: &str| format!("{name} {message}");
    match set(house, known, value) {
        Ok(true) => Ok(()),
        Ok(false) => {
            let message = fault(&format!("is written as {}", known.shape()));
            Err(Fault::at(value.span(), message))
        }
        Err(Fault { message, span }) => Err(Fault::at(span, fault(&message))),
    }
}

fn unknown_key(table: &str, name: &str, span: Range<usize>) -> Fault {
    // A key in the wrong table is known, and so is its home.
    let home = SETTINGS.iter().find(|known| known.key == name);
    let here = SETTINGS.iter().filter(|known| known.table == table);
    let names: Vec<_> = here
        .map(|known| known.key)
        .chain(
            TABLES
                .iter()
                .map(|(table, _)| *table)
                .filter(|_| table.is_empty()),
        )
        .collect();
    let near = nearest(name, names.iter().copied());
    let help = match (home, near.first()) {
        (Some(Setting { table: "", .. }), _) => "it belongs above the tables".to_owned(),
        (Some(Setting { table, .. }), _) => format!("it belongs in `[{table}]`"),
        (None, Some(near)) => format!("was `{near}` meant?"),
        (None, None) => format!("the keys here are {}", names.join(", ")),
    };
    let of = if table.is_empty() {
        String::new()
    } else {
        format!(" of `[{table}]`")
    };
    Fault::at(span, format!("`{name}` is not a key{of}: {help}"))
}

/// Sets one key; `false` where the value is not of its form.
fn set(house: &mut House, setting: &Setting, value: &Value<'_>) -> Result<bool, Fault> {
    let words = value.get_ref().as_str();
    Ok(match setting.form {
        Form::Word(all, put) => {
            let found = all.iter().position(|word| Some(*word) == words);
            found.map(|at| put(house, at)).is_some()
        }
        Form::Name(place) => {
            let name = words.map(str::trim).filter(|name| !name.is_empty());
            put(place(house), name.map(|name| Some(SmolStr::from(name))))
        }
        Form::Share(place) => put(place(house), words.and_then(share)),
        Form::Osmolarity(place) => {
            let read = words.and_then(|words| quantity(words, Form::OSMOLARITY));
            put(place(house), read)
        }
        Form::Time(place) => put(place(house), words.and_then(minutes)),
        Form::TimeIfAny(place) => put(place(house), words.and_then(minutes).map(Some)),
        Form::Drops(put) => {
            let read = words.and_then(drops);
            read.map(|range| put(house, range)).is_some()
        }
        Form::SyringeMarks(place) => put(place(house), syringe_marks(value)?),
        Form::Patterns(place) => {
            let read = texts(value)?;
            let owned =
                read.map(|globs| globs.iter().map(|(glob, _)| (*glob).to_owned()).collect());
            put(place(house), owned)
        }
    })
}

impl Default for House {
    fn default() -> Self {
        static DEFAULT: LazyLock<House> = LazyLock::new(|| {
            let (mut house, mut faults) = (House::blank(), Vec::new());
            for setting in &SETTINGS {
                let Some(default) = setting.default else {
                    continue;
                };
                let table = match setting.table {
                    "" => String::new(),
                    table => format!("[{table}]\n"),
                };
                let text = format!("{table}{} = {default}\n", setting.key);
                house = read(&Positions::of(&text), house, &mut faults);
            }
            debug_assert!(faults.is_empty(), "a default cannot be read");
            house.positions.clear();
            house
        });
        DEFAULT.clone()
    }
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
                "is a list with each member in quotes",
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
                return Err(Fault::at(span, "is a list with sizes in rising order"));
            }
            None => {
                let message = "is a list of marks and sizes: \"0.1 mL to 5 mL\" is a mark every 0.1 mL, on syringes up to 5 mL";
                return Err(Fault::at(span, message));
            }
        }
    }
    Ok((!marks.is_empty()).then_some(marks))
}

#[cfg(test)]
mod tests;
