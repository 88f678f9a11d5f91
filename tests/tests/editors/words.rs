//! The notation's words, sorted by what they are.

use std::collections::BTreeSet;

use gutta_notation::ast::{LimitMeasure, Route};
use gutta_notation::lines::{LINES, LineKind};
use gutta_notation::words;
use gutta_quantity::Atom;

/// The words by their kind; of two that begin alike, the longer stands first.
pub(crate) struct Words {
    /// What starts a stanza.
    pub(crate) stanzas: Vec<String>,
    /// Of those, what starts no line too.
    pub(crate) opening: Vec<String>,
    /// What starts a line.
    pub(crate) lines: Vec<String>,
    /// Of those, what begins a part of an order, and names it.
    pub(crate) parts: Vec<String>,
    /// The routes.
    pub(crate) routes: Vec<String>,
    /// What limits and worked examples measure.
    pub(crate) measures: Vec<String>,
    /// The units, in every spelling that is read.
    pub(crate) units: Vec<String>,
    /// What stands between quantities and names: `made up to`, `every`.
    pub(crate) phrases: Vec<String>,
}

const GRAMMAR: &str = include_str!("../../../grammar/notation/src/notation.pest");

impl Words {
    /// All of them, from the notation's own tables.
    pub(crate) fn of_the_notation() -> Self {
        let lines = || LINES.iter();
        // What the notation does not read yet is not shown as if it were.
        let read = lines().filter(|line| line.kind.is_read());
        let is_line = |word: &str| lines().any(|line| line.words == word);
        Self {
            stanzas: sorted(words::STANZAS.iter().map(|stanza| stanza.word)),
            opening: sorted(
                words::STANZAS
                    .iter()
                    .map(|stanza| stanza.word)
                    .filter(|word| !is_line(word)),
            ),
            lines: sorted(read.map(|line| line.words)),
            parts: sorted(
                lines()
                    .filter(|line| line.kind == LineKind::Phase)
                    .map(|line| line.words),
            ),
            routes: sorted(Route::ALL.iter().map(|route| route.phrase())),
            measures: sorted(
                (LimitMeasure::ALL.iter().map(|measure| measure.phrase()))
                    .chain(words::EXPECT_MEASURES.iter().map(|(phrase, _)| *phrase)),
            ),
            units: sorted(
                Atom::ALL
                    .iter()
                    .flat_map(|atom| gutta_quantity::machine::spellings(*atom))
                    .chain(Atom::WORDS.iter().map(|(word, _)| *word)),
            ),
            phrases: sorted(
                phrases()
                    .iter()
                    .map(String::as_str)
                    .chain(words::OWN.iter().copied())
                    .chain(words::DOSES),
            ),
        }
    }
}

/// What the grammar's section of words spells, phrase by phrase. A rule that
/// has a choice is no phrase: it reads spellings to warn of.
fn phrases() -> Vec<String> {
    GRAMMAR
        .lines()
        .skip_while(|line| !line.starts_with("// ── words"))
        .skip(1)
        .take_while(|line| !line.starts_with("//"))
        .filter(|line| !line.contains('|'))
        .map(|line| {
            let quoted: Vec<_> = line.split('"').skip(1).step_by(2).collect();
            quoted
                .into_iter()
                .filter(|word| *word != " ")
                .collect::<Vec<_>>()
                .join(" ")
        })
        .filter(|phrase| !phrase.is_empty())
        .collect()
}

fn sorted<'a>(words: impl Iterator<Item = &'a str>) -> Vec<String> {
    let once: BTreeSet<_> = words.collect();
    let mut all: Vec<_> = once.into_iter().map(str::to_owned).collect();
    all.sort_by_key(|word| std::cmp::Reverse(word.len()));
    all
}
