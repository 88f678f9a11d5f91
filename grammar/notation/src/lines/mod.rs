//! The lines of the notation: one row for each kind.

pub(crate) mod homes;
mod shapes;
mod table;

pub use homes::Homes;
pub use shapes::{Part, Shape};
pub use table::{LINES, LineKind};

use crate::parse::Rule;
use crate::stanzas::{STANZAS, StanzaKind};

/// What holds of a kind of line.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The kind.
    pub kind: LineKind,
    /// Its keywords; none where the line begins with a name.
    pub words: &'static [LineWord],
    /// How often it may stand.
    pub often: Often,
    /// For which phases of an order it holds.
    pub reach: Reach,
    /// What follows the keyword.
    pub(crate) rule: Rule,
    /// Its place among the lines of an order; 0 where no order has it.
    pub place: u16,
    /// What it is made of, where that is several parts.
    pub shapes: &'static [Shape],
}

/// A keyword that starts a line.
#[derive(Clone, Copy, Debug)]
pub struct LineWord {
    /// The keyword, in full (`bolus ceiling`).
    pub words: &'static str,
    /// The line it starts.
    pub kind: LineKind,
    /// The stanzas it may stand in.
    pub homes: Homes,
}

/// How often a line may stand in a stanza, or in a phase where it is a phase's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Often {
    /// Once.
    Once,
    /// Once for weight, once for surface, once for age.
    OncePerPatientKind,
    /// Once for each substance.
    OncePerSubstance,
    /// Any number of times.
    Any,
}

/// For which phases of an order a line holds. A line of a phase takes the place
/// of those of its kind above the first phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// It is of no phase: it holds for all of the stanza, wherever it stands.
    Stanza,
    /// A phase's; above the first phase it holds for every phase.
    EachPhase,
    /// A phase's; above the first phase it is the first one's.
    FirstPhase,
    /// A phase's; above the first phase it is the last one's.
    LastPhase,
}

impl LineKind {
    /// What holds of it.
    #[must_use]
    pub const fn row(self) -> &'static Row {
        &table::ROWS[self as usize]
    }

    /// Whether a stanza (or phase) may have several; patients by weight,
    /// surface and age, and contents of several substances, among them.
    #[must_use]
    pub const fn repeats(self) -> bool {
        !matches!(self.row().often, Often::Once)
    }

    /// Whether each phase may have its own.
    #[must_use]
    pub const fn is_of_phase(self) -> bool {
        !matches!(self.row().reach, Reach::Stanza)
    }

    /// Whether this version reads it: the second part of the notation is known
    /// and not read.
    #[must_use]
    pub const fn is_read(self) -> bool {
        !matches!(self, Self::SecondPart)
    }

    /// Whether it says what is in the bag.
    #[must_use]
    pub const fn is_bag(self) -> bool {
        matches!(
            self,
            Self::Mix | Self::Premixed | Self::Hang | Self::Undiluted
        )
    }
}

/// The keyword with which a line of the stanza begins, and where in the line it
/// ends.
#[must_use]
pub fn keyword_of(line: &str, stanza: StanzaKind) -> Option<(&'static LineWord, usize)> {
    let word = &line[..line.find(' ').unwrap_or(line.len())];
    lookup(line, word, stanza, str::eq)
}

/// The same, words being compared by `same`; `word` is the line's first.
pub(crate) fn lookup(
    line: &str,
    word: &str,
    stanza: StanzaKind,
    same: fn(&str, &str) -> bool,
) -> Option<(&'static LineWord, usize)> {
    LINES.iter().find_map(|known| {
        if !known.homes.has(stanza) {
            return None;
        }
        let end = begins(line, word, known.words, same)?;
        Some((known, end))
    })
}

/// Where the keyword ends, if the line begins with it.
pub(crate) fn begins(
    line: &str,
    word: &str,
    keyword: &str,
    same: fn(&str, &str) -> bool,
) -> Option<usize> {
    // Most differ in the first letter already.
    if keyword.len() < word.len() || !share_first_letter(keyword, word) {
        return None;
    }
    let Some((first, second)) = keyword.split_once(' ') else {
        return same(keyword, word).then_some(word.len());
    };
    if !same(first, word) {
        return None;
    }
    let rest = line[word.len()..].trim_start_matches(' ');
    let start = line.len() - rest.len();
    let end = rest.find(' ').unwrap_or(rest.len());
    same(second, &rest[..end]).then_some(start + end)
}

/// The first of a keyword's words.
pub(crate) fn first_word(words: &str) -> &str {
    words.split(' ').next().unwrap_or(words)
}

/// Whether the word, in whatever case, starts a line and no stanza.
pub(crate) fn is_line_keyword_only(word: &str) -> bool {
    LINES.iter().any(|line| {
        share_first_letter(line.words, word) && first_word(line.words).eq_ignore_ascii_case(word)
    }) && !STANZAS
        .iter()
        .any(|stanza| stanza.word.eq_ignore_ascii_case(word))
}

/// Whether both begin with the same letter, in whatever case.
fn share_first_letter(keyword: &str, word: &str) -> bool {
    match (keyword.bytes().next(), word.bytes().next()) {
        (Some(one), Some(other)) => one.eq_ignore_ascii_case(&other),
        _ => false,
    }
}

#[cfg(test)]
mod tests;
