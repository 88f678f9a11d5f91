//! Where the cursor stands: in which stanza, in which part of its line.

use gutta_notation::lines::{LINES, LineKind, LineWord};
use gutta_notation::words::STANZAS;
use gutta_notation::{Span, StanzaKind};
use gutta_protocol::StanzaId;

use crate::state::Site;

/// A place in a file, and the line that it is on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cursor<'a> {
    pub(super) site: &'a Site<'a>,
    pub(super) stanza: Option<StanzaId>,
    pub(super) kind: StanzaKind,
    /// The line's text up to the cursor.
    pub(super) head: &'a str,
    /// Where the line starts in the file.
    line: u32,
    /// The word under the cursor; empty between words.
    pub(super) word: Span,
    /// Whether more stands behind the word.
    pub(super) goes_on: bool,
}

/// What is being written at the cursor.
#[derive(Clone, Debug)]
pub(super) enum Spot<'a> {
    /// Nothing that the tool could know.
    Nothing,
    /// A stanza's keyword.
    FirstColumn,
    /// The path of a `use`.
    Used,
    /// The name of an `ingredient`.
    Ingredient,
    /// A line's keyword, which starts here.
    Keyword { start: u32 },
    /// What follows a line's keyword.
    Value {
        kind: LineKind,
        /// What stands between the keyword and the word.
        before: &'a str,
        /// Where a longer keyword would start, should this be one.
        also: Option<u32>,
    },
}

impl<'a> Cursor<'a> {
    pub(super) fn new(site: &'a Site<'a>, offset: u32) -> Option<Self> {
        let text = &site.source().text;
        let before = text.get(..offset as usize)?;
        let line = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
        let head = before.get(line..)?;
        let rest = text.get(offset as usize..)?;
        let rest = rest.get(..rest.find(['\n', '\r']).unwrap_or(rest.len()))?;
        let parts = |found: char| matches!(found, ' ' | '\t' | ',' | ':' | '"' | '#');
        let start = head.rfind(parts).map_or(0, |at| at + 1);
        let end = rest.find(parts).unwrap_or(rest.len());
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let stanza = site.stanza_at(offset);
        let kind = stanza.map_or(StanzaKind::Preamble, |id| site.workspace.stanza(id).kind);
        Some(Self {
            site,
            stanza,
            kind,
            head,
            line: place(line),
            word: Span::new(place(line + start), offset + place(end)),
            goes_on: rest.get(end..).is_some_and(|rest| !rest.trim().is_empty()),
        })
    }

    /// What stands of the word before the cursor.
    pub(super) fn begun(&self) -> &'a str {
        self.from(self.word.start)
    }

    /// What stands from the byte, on the same line, up to the cursor.
    pub(super) fn from(&self, start: u32) -> &'a str {
        let start = start.saturating_sub(self.line);
        self.head.get(start as usize..).unwrap_or("")
    }

    pub(super) fn spot(&self) -> Spot<'a> {
        let body = self.head.trim_start_matches([' ', '\t']);
        let start = self.line + u32::try_from(self.head.len() - body.len()).unwrap_or(0);
        if is_comment(body) {
            return Spot::Nothing;
        }
        let in_text = body.matches('"').count() % 2 == 1;
        if body.starts_with("use ") && start == self.line {
            return if body.matches('"').count() < 2 {
                Spot::Used
            } else {
                Spot::Nothing
            };
        }
        if in_text {
            return Spot::Nothing;
        }
        if start == self.line && body.strip_prefix("ingredient ").is_some_and(is_one_word) {
            return Spot::Ingredient;
        }
        if start == self.line {
            let more = body.contains([' ', '\t']);
            return if more {
                Spot::Nothing
            } else {
                Spot::FirstColumn
            };
        }
        if matches!(
            self.kind,
            StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
        ) {
            return Spot::Nothing;
        }
        let keyword = self.words().filter(|line| is_begun(body, line.words));
        let Some(keyword) = keyword.max_by_key(|line| line.words.len()) else {
            let is_load = self.kind == StanzaKind::Set && body.contains(' ');
            return match is_load {
                true => self.value(LineKind::Load, body, None),
                false => Spot::Keyword { start },
            };
        };
        let after = body.get(keyword.words.len()..).unwrap_or("");
        let longer = self
            .words()
            .any(|line| line.words.len() > body.len() && line.words.starts_with(body.trim_end()));
        self.value(keyword.kind, after, longer.then_some(start))
    }

    fn value(&self, kind: LineKind, after: &'a str, also: Option<u32>) -> Spot<'a> {
        let begun = self.begun().len();
        let before = after.get(..after.len().saturating_sub(begun));
        match before {
            Some(before) => Spot::Value { kind, before, also },
            None => Spot::Nothing,
        }
    }

    /// The keywords of lines that may stand in the stanza.
    pub(super) fn words(&self) -> impl Iterator<Item = &'static LineWord> + use<> {
        let kind = self.kind;
        LINES
            .iter()
            .filter(move |line| line.homes.has(kind) && line.kind.is_read())
    }

    /// The stanza's keyword.
    pub(super) fn stanza_word(&self) -> &'static str {
        let mut stanzas = STANZAS.iter();
        stanzas
            .find(|stanza| stanza.kind == self.kind)
            .map_or("", |stanza| stanza.word)
    }
}

/// Whether no second word has begun.
fn is_one_word(text: &str) -> bool {
    !text.trim_start().contains([' ', '\t'])
}

/// Whether the line begins with the keyword and a blank.
fn is_begun(body: &str, words: &str) -> bool {
    let rest = body.strip_prefix(words);
    rest.is_some_and(|rest| rest.starts_with([' ', '\t']))
}

/// Whether a comment starts, outside of a text.
fn is_comment(body: &str) -> bool {
    let mut quoted = false;
    body.chars().any(|found| {
        if found == '"' {
            quoted = !quoted;
        }
        found == '#' && !quoted
    })
}
