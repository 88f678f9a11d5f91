//! The text of one line, ready to be parsed: comment cut, look-alike
//! characters read as their plain forms, and the way back to the places in
//! the stanza.

use std::borrow::Cow;

use memchr::memchr;

use crate::scan::{is_nothing, is_odd_blank};
use crate::{Edit, Mark, MarkKind, Span};

/// A line's text and where its bytes stand in the stanza.
#[derive(Debug, Default)]
pub(super) struct Source<'a> {
    /// Without comment and without blanks at either end.
    pub(super) text: Cow<'a, str>,
    /// Where the text's first byte stands, if no character was replaced by
    /// one of another length.
    base: u32,
    /// Else: where each byte, and the end, stands.
    map: Vec<u32>,
    /// A control character: the line is no text.
    pub(super) fault: Option<Span>,
}

impl<'a> Source<'a> {
    /// The line `raw`, whose first byte stands at `base` in its stanza.
    pub(super) fn new(raw: &'a str, base: u32, marks: &mut Vec<Mark>) -> Self {
        let Some(end) = plain_end(raw) else {
            return Rewriter::new(raw, base, marks).run();
        };
        let kept = raw[..end].trim_end_matches(' ');
        let text = kept.trim_start_matches(' ');
        Self {
            text: Cow::Borrowed(text),
            base: base + len32(kept.len() - text.len()),
            ..Self::default()
        }
    }

    /// The place in the stanza of `start..end` of the text.
    pub(super) fn span(&self, start: usize, end: usize) -> Span {
        if self.map.is_empty() {
            return Span::new(self.base + len32(start), self.base + len32(end));
        }
        let at = |index: usize| {
            let last = self.map.len().saturating_sub(1);
            self.map.get(index.min(last)).copied().unwrap_or(self.base)
        };
        Span::new(at(start), at(end).max(at(start)))
    }
}

/// A length as an offset; longer texts were cut before.
pub(super) fn len32(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

/// Where the line's comment starts, or its end; `None` where a character
/// outside quotes needs a closer look.
fn plain_end(raw: &str) -> Option<usize> {
    let bytes = raw.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'#' => return Some(at),
            b'"' => at += 1 + memchr(b'"', &bytes[at + 1..])?,
            b' '..=b'~' => {}
            _ => return None,
        }
        at += 1;
    }
    Some(at)
}

struct Rewriter<'a, 'm> {
    raw: &'a str,
    base: u32,
    marks: &'m mut Vec<Mark>,
    text: String,
    map: Vec<u32>,
    fault: Option<Span>,
}

impl<'a, 'm> Rewriter<'a, 'm> {
    fn new(raw: &'a str, base: u32, marks: &'m mut Vec<Mark>) -> Self {
        Self {
            raw,
            base,
            marks,
            text: String::with_capacity(raw.len()),
            map: Vec::with_capacity(raw.len() + 1),
            fault: None,
        }
    }

    fn run(mut self) -> Source<'a> {
        let mut at = 0;
        while let Some(found) = self.raw[at..].chars().next() {
            let next = at + found.len_utf8();
            match found {
                '#' => break,
                '"' => {
                    at = self.quoted(at, found);
                    continue;
                }
                '\t' => self.push(' ', at),
                _ if is_odd_blank(found) => self.odd(found, Some(' '), at),
                _ if is_nothing(found) => {
                    // At the very start of a file it is a byte-order mark.
                    if at + self.base as usize > 0 || found != '\u{feff}' {
                        self.odd(found, None, at);
                    }
                }
                _ if is_curly(found) => {
                    at = self.quoted(at, found);
                    continue;
                }
                '\u{2018}' | '\u{2019}' => self.odd(found, Some('\''), at),
                '\u{2010}'..='\u{2015}' | '\u{2212}' => {
                    if self.between_digits(at, next) {
                        self.push('-', at);
                    } else {
                        self.odd(found, Some('-'), at);
                    }
                }
                '×' => self.odd(found, Some('x'), at),
                '\u{ff01}'..='\u{ff5e}' => {
                    let plain = char::from_u32(u32::from(found) - 0xfee0).unwrap_or(' ');
                    if plain == '"' {
                        at = self.quoted(at, found);
                        continue;
                    }
                    self.odd(found, Some(plain), at);
                }
                _ if found.is_control() => {
                    let span = self.span(at, next);
                    self.fault.get_or_insert(span);
                    self.push(' ', at);
                }
                _ => self.push(found, at),
            }
            at = next;
        }
        self.finish(at)
    }

    fn finish(mut self, at: usize) -> Source<'a> {
        let end = self.text.trim_end_matches(' ').len();
        let start = self.text.len() - self.text.trim_start_matches(' ').len();
        let start = start.min(end);
        // The map's last entry is where the text ends.
        let past = match self.map.get(end) {
            Some(place) => *place,
            None => self.base + len32(at),
        };
        self.map.truncate(end);
        self.map.push(past);
        self.map.drain(..start);
        self.text.truncate(end);
        self.text.drain(..start);
        Source {
            text: Cow::Owned(self.text),
            base: self.base,
            map: self.map,
            fault: self.fault,
        }
    }

    /// Copies a quoted text that opens at `at`; the offset past it.
    fn quoted(&mut self, at: usize, open: char) -> usize {
        let inner = at + open.len_utf8();
        let rest = &self.raw[inner..];
        let close = if open == '"' {
            rest.find('"')
                .or_else(|| rest.find(is_curly))
                .map(|offset| inner + offset)
        } else {
            rest.find(|c: char| c == '"' || is_curly(c))
                .map(|offset| inner + offset)
        };
        self.quote(open, at);
        let end = close.unwrap_or(self.raw.len());
        let mut place = inner;
        for found in self.raw[inner..end].chars() {
            self.push(found, place);
            place += found.len_utf8();
        }
        match self.raw[end..].chars().next() {
            Some(found) => {
                self.quote(found, end);
                end + found.len_utf8()
            }
            None => end,
        }
    }

    fn quote(&mut self, found: char, at: usize) {
        if found == '"' {
            self.push('"', at);
        } else {
            self.odd(found, Some('"'), at);
        }
    }

    fn odd(&mut self, found: char, plain: Option<char>, at: usize) {
        let span = self.span(at, at + found.len_utf8());
        self.marks.push(Mark {
            kind: MarkKind::OddCharacter { found },
            span,
            fixes: vec![Edit {
                span,
                text: plain.map(String::from).unwrap_or_default(),
            }],
        });
        if let Some(plain) = plain {
            self.push(plain, at);
        }
    }

    fn push(&mut self, found: char, at: usize) {
        let place = self.base + len32(at);
        self.text.push(found);
        for byte in 0..found.len_utf8() {
            self.map.push(place + len32(byte));
        }
    }

    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.base + len32(start), self.base + len32(end))
    }

    fn between_digits(&self, at: usize, next: usize) -> bool {
        let digit = |found: Option<char>| found.is_some_and(|c| c.is_ascii_digit() || c == '.');
        let blank = |c: char| c == ' ' || c == '\t' || is_odd_blank(c);
        digit(self.raw[..at].trim_end_matches(blank).chars().next_back())
            && digit(self.raw[next..].trim_start_matches(blank).chars().next())
    }
}

const fn is_curly(found: char) -> bool {
    matches!(
        found,
        '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}' | '\u{2033}' | '\u{ff02}'
    )
}
