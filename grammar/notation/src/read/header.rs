//! Reading a stanza's header.

use super::source::{Source, len32};
use super::{Reader, near};
use crate::ast::{Stanza, StanzaKind};
use crate::lines::{LINES, first_word};
use crate::parse::{Rule, parse};
use crate::words::{STANZAS, stanza_kind};
use crate::{Edit, MarkKind, Phrase, Span, Why};

impl<'a> Reader<'a> {
    /// Reads the header line into the stanza.
    pub(super) fn header(&mut self, stanza: &mut Stanza, raw: &'a str, base: u32) {
        self.source = Source::new(raw, base, &mut self.marks);
        let text = self.source.text.clone();
        let end = text.find(' ').unwrap_or(text.len());
        stanza.header = self.at(0, text.len());
        let word = &text[..end];
        stanza.kind = StanzaKind::Unknown;
        if let Some(span) = self.source.fault {
            self.unreadable(span, Vec::new(), Some(Why::NotText), Vec::new());
            return;
        }
        let Some(kind) = stanza_kind(word).or_else(|| self.capital_stanza(word)) else {
            self.unknown_stanza(word);
            return;
        };
        stanza.kind = kind;
        let start = text.len() - text[end..].trim_start_matches(' ').len();
        let rule = if kind == StanzaKind::Use {
            Rule::use_line
        } else {
            Rule::header_line
        };
        self.next = 0;
        match parse(rule, &text[start..], start, &mut self.tokens) {
            Ok(()) if kind == StanzaKind::Use => {
                stanza.title = self.take_exact();
                if stanza
                    .title
                    .as_ref()
                    .is_some_and(|path| path.value.is_empty())
                {
                    self.unreadable(
                        stanza.header,
                        vec!["the path of a file, in quotes".to_owned()],
                        None,
                        Vec::new(),
                    );
                    stanza.title = None;
                }
            }
            Ok(()) => {
                self.whole = true;
                let name = if matches!(kind, StanzaKind::Drug | StanzaKind::Ingredient) {
                    self.take_drug_name()
                } else {
                    self.take_name()
                };
                // A name that could not be read declares nothing.
                stanza.name = name.filter(|_| self.whole);
                stanza.title = self.take_text();
            }
            Err(stuck) => self.stuck(&stuck, None),
        }
    }

    /// The stanza that the word starts but for its capitals.
    fn capital_stanza(&mut self, word: &str) -> Option<StanzaKind> {
        let found = STANZAS
            .iter()
            .find(|stanza| stanza.word.eq_ignore_ascii_case(word))?;
        let span = self.at(0, word.len());
        let fix = Edit {
            span,
            text: found.word.to_owned(),
        };
        self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
        Some(found.kind)
    }

    fn unknown_stanza(&mut self, word: &str) {
        let span = self.at(0, word.len());
        let stanzas = STANZAS.iter().map(|stanza| stanza.word);
        if let Some(glued) = glued(word, stanzas.clone()) {
            let gap = span.start + len32(glued.len());
            let fix = Edit {
                span: Span::new(gap, gap),
                text: " ".to_owned(),
            };
            self.unreadable(
                span,
                vec!["a space".to_owned()],
                Some(Why::BlankAfterKeyword),
                vec![fix],
            );
            return;
        }
        let fixes = near::nearest(word, stanzas.clone())
            .into_iter()
            .map(|near| Edit {
                span,
                text: near.to_owned(),
            })
            .chain(
                near::nearest(word, LINES.iter().map(|line| first_word(line.words))).map(|near| {
                    Edit {
                        span,
                        text: format!("  {near}"),
                    }
                }),
            )
            .collect();
        self.unreadable(
            span,
            stanzas.map(|word| format!("`{word}`")).collect(),
            Some(Why::UnknownKeyword {
                found: shortened(word),
            }),
            fixes,
        );
    }
}

/// What is said of a line of the notation's second part.
pub(super) fn second_part(word: &str) -> Why {
    Why::Other(format!("`{word}` is not read by this version"))
}

/// The keyword that a word begins with, where something that is no letter
/// follows without a blank.
pub(super) fn glued<'k>(
    word: &str,
    mut keywords: impl Iterator<Item = &'k str>,
) -> Option<&'k str> {
    keywords.find(|keyword| {
        word.strip_prefix(keyword)
            .and_then(|rest| rest.chars().next())
            .is_some_and(|next| !next.is_alphabetic() && next != '-')
    })
}

/// A word that was found, not longer than is of use in a message.
pub(super) fn shortened(word: &str) -> String {
    const MOST: usize = 40;
    if word.chars().nth(MOST).is_none() {
        return word.to_owned();
    }
    word.chars().take(MOST).chain(['…']).collect()
}
