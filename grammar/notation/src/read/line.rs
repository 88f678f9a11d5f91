//! Reading a line: its keyword, its rule of the grammar, its fact.

use super::header::{glued, second_part, shortened};
use super::source::{Source, len32};
use super::{Reader, near, trouble};
use crate::ast::{Fact, Line, Stanza, StanzaKind};
use crate::lines::{Homes, LINES, LineKind, LineWord, begins, first_word, lookup};
use crate::parse::{Rule, parse};
use crate::words::STANZAS;
use crate::{Edit, MarkKind, Phrase, Span, Why};

/// A line's keyword, found.
pub(super) struct Found {
    pub(super) kind: LineKind,
    /// Where the keyword ends in the line's text.
    pub(super) end: usize,
}

impl<'a> Reader<'a> {
    /// Reads a line of the stanza.
    pub(super) fn line(&mut self, stanza: &Stanza, raw: &'a str, base: u32) -> Line {
        if self.orphaned {
            return self.unread(raw, base);
        }
        self.whole = true;
        self.source = Source::new(raw, base, &mut self.marks);
        let text = std::mem::take(&mut self.source.text);
        self.source.text = text.clone();
        let span = self.at(0, text.len());
        let word_end = text.find(' ').unwrap_or(text.len());
        let mut line = Line {
            span,
            keyword: self.at(0, word_end),
            fact: Fact::Unreadable,
            whole: false,
        };
        if let Some(fault) = self.source.fault {
            self.unreadable(fault, Vec::new(), Some(Why::NotText), Vec::new());
            return line;
        }
        if !raw.starts_with([' ', '\t']) && span.start == base {
            let fix = Edit {
                span: Span::new(base, base),
                text: "  ".to_owned(),
            };
            self.mark(MarkKind::Phrase(Phrase::Indent), line.keyword, vec![fix]);
        }
        let Some(found) = self.keyword(&text, word_end, stanza.kind) else {
            return line;
        };
        line.keyword = self.at(0, found.end);
        line.fact = self.fact_of(&found, &text, stanza.kind);
        if line.fact == Fact::Unreadable {
            self.whole = false;
        } else {
            self.note_twice(&line, found.kind);
        }
        line.whole = self.whole;
        line
    }

    fn fact_of(&mut self, found: &Found, text: &str, stanza: StanzaKind) -> Fact {
        let start = text.len() - text[found.end..].trim_start_matches(' ').len();
        // A substance's line: what stands before the range is its name.
        let start = if found.kind == LineKind::Load {
            0
        } else {
            start
        };
        let rule = found.kind.row().rule;
        self.next = 0;
        let parsed = parse(rule, &text[start..], start, &mut self.tokens);
        let parsed = match parsed {
            Err(stuck) => self.without_capitals(rule, text, start).map_err(|()| stuck),
            ok => ok,
        };
        match parsed {
            Ok(()) => self.fact(found.kind).unwrap_or_else(|| {
                // The grammar took it and its reader did not: never in silence.
                let span = self.at(start, text.len());
                self.unreadable(span, Vec::new(), None, Vec::new());
                Fact::Unreadable
            }),
            Err(stuck) => {
                if found.kind == LineKind::Load && stuck.at <= found.end + 1 {
                    self.unknown_keyword(&text[..found.end], stanza);
                } else {
                    self.stuck(&stuck, Some(found.kind));
                }
                Fact::Unreadable
            }
        }
    }

    /// Parses once more with the notation's own words in small letters, and
    /// marks those that were not.
    fn without_capitals(&mut self, rule: Rule, text: &str, start: usize) -> Result<(), ()> {
        let Some((lowered, changed)) = trouble::lowered(text, start) else {
            return Err(());
        };
        parse(rule, &lowered[start..], start, &mut self.tokens).map_err(|_| ())?;
        self.next = 0;
        for (from, to) in changed {
            let span = self.at(from, to);
            let fix = Edit {
                span,
                text: lowered[from..to].to_owned(),
            };
            self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
        }
        self.source.text = lowered.into();
        Ok(())
    }

    /// The keyword of the line; what is wrong with it is marked.
    fn keyword(&mut self, text: &str, word_end: usize, stanza: StanzaKind) -> Option<Found> {
        let word = &text[..word_end];
        let rest = text[word_end..].trim_start_matches(' ');
        let lookup = |same| {
            let (line, end) = lookup(text, word, stanza, same)?;
            let kind = line.kind;
            Some(Found { kind, end })
        };
        if let Some(found) = lookup(str::eq) {
            if !found.kind.is_read() {
                self.unreadable(
                    self.at(0, text.len()),
                    Vec::new(),
                    Some(second_part(&text[..found.end])),
                    Vec::new(),
                );
                return None;
            }
            return Some(found);
        }
        if !rest.is_empty() && self.indented_stanza(word) {
            return None;
        }
        if let Some(found) = lookup(str::eq_ignore_ascii_case) {
            let span = self.at(0, found.end);
            let fix = Edit {
                span,
                text: text[..found.end].to_ascii_lowercase(),
            };
            self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
            return Some(found);
        }
        if let Some(second) = self.half_keyword(text, word, stanza) {
            let start = text.len() - rest.len();
            let end = text[start..]
                .find(' ')
                .map_or(text.len(), |length| start + length);
            let span = self.at(start, end);
            let fixes = near::nearest(&text[start..end], second.iter().copied())
                .map(|near| Edit {
                    span,
                    text: near.to_owned(),
                })
                .into_iter()
                .collect();
            let expected = second.iter().map(|word| format!("`{word}`")).collect();
            self.unreadable(span, expected, None, fixes);
            return None;
        }
        if self.elsewhere(text, word) {
            return None;
        }
        if stanza == StanzaKind::Set
            && word.starts_with(|c: char| c.is_lowercase())
            && !rest.is_empty()
        {
            return Some(Found {
                kind: LineKind::Load,
                end: word_end,
            });
        }
        self.unknown_keyword(word, stanza);
        None
    }

    /// An indented line that starts a stanza: it and the lines below belong
    /// to nothing.
    fn indented_stanza(&mut self, word: &str) -> bool {
        let starts = matches!(
            word,
            "order" | "specimen" | "solution" | "ingredient" | "set" | "use"
        );
        if starts {
            let keyword = self.at(0, word.len());
            self.unreadable(keyword, Vec::new(), Some(Why::IndentedStanza), Vec::new());
            self.orphaned = true;
        }
        starts
    }

    /// The second words that may follow a first one that is right.
    fn half_keyword(
        &self,
        text: &str,
        word: &str,
        stanza: StanzaKind,
    ) -> Option<Vec<&'static str>> {
        let second: Vec<_> = LINES
            .iter()
            .filter(|line| line.homes.has(stanza) && line.kind.is_read())
            .filter_map(|line| line.words.split_once(' '))
            .filter(|(first, _)| *first == word)
            .map(|(_, second)| second)
            .collect();
        (!second.is_empty() && text.len() > word.len()).then_some(second)
    }

    /// A keyword of another stanza, or of the second part.
    fn elsewhere(&mut self, text: &str, word: &str) -> bool {
        let mut homes: Vec<&LineWord> = LINES
            .iter()
            .filter(|line| begins(text, word, line.words, str::eq_ignore_ascii_case).is_some())
            .collect();
        let stanza = STANZAS.iter().find(|stanza| stanza.word == word);
        let keyword = match (homes.first(), stanza) {
            (Some(line), _) => line.words,
            (None, Some(stanza)) => stanza.word,
            (None, None) => return false,
        };
        homes.retain(|line| line.words == keyword);
        let home = if homes.is_empty() {
            "the first column".to_owned()
        } else {
            let all = homes
                .iter()
                .fold(Homes::NONE, |all, line| all.or(line.homes));
            all.phrase()
        };
        let span = self.at(0, keyword.len());
        self.unreadable(
            span,
            Vec::new(),
            Some(Why::WrongHome {
                keyword: keyword.to_owned(),
                home,
            }),
            Vec::new(),
        );
        true
    }

    fn unknown_keyword(&mut self, word: &str, stanza: StanzaKind) {
        let span = self.at(0, word.len());
        let here = LINES
            .iter()
            .filter(|line| line.homes.has(stanza) && line.kind.is_read());
        let firsts = here.clone().map(|line| first_word(line.words));
        if let Some(glued) = glued(word, firsts.clone()) {
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
        let fixes = near::nearest(word, firsts)
            .map(|near| Edit {
                span,
                text: near.to_owned(),
            })
            .into_iter()
            .collect();
        self.unreadable(
            span,
            here.map(|line| format!("`{}`", line.words)).collect(),
            Some(Why::UnknownKeyword {
                found: shortened(word),
            }),
            fixes,
        );
    }
}
