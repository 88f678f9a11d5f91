//! What an author may have meant by a line that is not the notation's: the line
//! as the notation writes it, made of the author's own numbers.
//!
//! The words are those in which infusions are prescribed on paper and in
//! guidelines (common practice, no source). Whatever is proposed has been read,
//! and nothing was wrong with it; it is never taken by itself.

mod lines;
mod numbers;
mod routes;
mod tokens;
mod vocabulary;

#[cfg(test)]
mod tests;

use std::sync::Arc;

use crate::ast::{Fact, Stanza, StanzaKind};
use crate::read::read;
use crate::{Style, in_style, words};

/// A line that may have been meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meant {
    /// The line, without its indentation: `run all at 3 mL/h`.
    pub line: String,
    /// Whether it differs from what was written in its spelling only, so that
    /// nothing is decided by taking it.
    pub spelling: bool,
}

/// The lines of a stanza that `text` may have been meant as, the likeliest first.
/// `named` gives the declared name of a solution, pump, giving set or area that is
/// called so (`glucose 5 %`).
#[must_use]
pub fn meant(
    kind: StanzaKind,
    text: &str,
    named: &dyn Fn(StanzaKind, &str) -> Option<String>,
    style: Style,
) -> Vec<Meant> {
    const MOST_BYTES: usize = 200;
    let text = text.split('#').next().unwrap_or("").trim();
    if text.is_empty() || text.len() > MOST_BYTES {
        return Vec::new();
    }
    // `½`, `²` of a number
    let other_digits = |c: char| c.is_numeric() && !c.is_ascii_digit() && c != '²';
    if text.contains(other_digits) {
        return Vec::new();
    }
    let Some(tokens) = tokens::tokens(text) else {
        return Vec::new();
    };
    let mut all: Vec<Meant> = Vec::new();
    for mut meant in lines::lines(kind, text, &tokens, named) {
        meant.line = in_style(&meant.line, style).into_owned();
        let known = all.iter().any(|other| other.line == meant.line);
        if !known && meant.line != text && reads(kind, &meant.line, style) {
            all.push(meant);
        }
    }
    all
}

/// Whether a stanza of the kind takes the line, without a word against it.
fn reads(kind: StanzaKind, line: &str, style: Style) -> bool {
    in_stanza(kind, line, style)
        .is_some_and(|stanza| stanza.lines[0].whole && stanza.marks.is_empty())
}

/// Whether a stanza of the kind takes the line, whatever else is wrong with it.
#[must_use]
pub fn is_read(kind: StanzaKind, line: &str, style: Style) -> bool {
    in_stanza(kind, line, style).is_some_and(|stanza| stanza.lines[0].fact != Fact::Unreadable)
}

/// A stanza of this line only.
fn in_stanza(kind: StanzaKind, line: &str, style: Style) -> Option<Arc<Stanza>> {
    let stanza = words::STANZAS.iter().find(|stanza| stanza.kind == kind)?;
    let file = read(&format!("{} a\n  {line}\n", stanza.word), style);
    let [placed] = file.stanzas.as_slice() else {
        return None;
    };
    (placed.stanza.lines.len() == 1).then(|| Arc::clone(&placed.stanza))
}
