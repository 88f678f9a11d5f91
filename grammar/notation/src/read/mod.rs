//! Reading: from a stanza's text to its typed lines, with what was noticed.

mod alone;
mod compound;
mod drug;
mod expect;
mod fact;
mod glued;
mod header;
mod lid;
mod line;
mod name;
mod near;
mod number;
mod order;
mod phrase;
mod places;
mod pounds;
mod quantity;
mod range;
mod run;
mod source;
mod texts;
mod trouble;
mod twice;
mod unit;

use std::sync::Arc;

use crate::ast::{Fact, File, Line, Placed, Stanza, StanzaKind};
use crate::breaks::breaks;
use crate::hidden::{mark_hidden, mark_inner_order};
use crate::lines::keyword_of;
use crate::parse::{Rule, Token};
use crate::scan::{Column, first_column, next_line, stanza_starts};
use crate::{Edit, Mark, MarkKind, NoValue, Span, Style, Unreadable, Why};
pub use alone::read_quantity;
pub use name::RISKY_NAMES;
pub(crate) use phrase::said;
use source::{Source, len32};
pub use texts::{InText, read_text};

/// A stanza of more lines, from its header on, is not read.
pub const MOST_LINES: usize = 2_000;

/// Reads a file: every byte belongs to one of its stanzas.
#[must_use]
pub fn read(text: &str, style: Style) -> File {
    let starts = stanza_starts(text);
    let mut stanzas: Vec<Placed> = Vec::with_capacity(starts.len());
    for (place, start) in starts.iter().enumerate() {
        let end = starts
            .get(place + 1)
            .map_or(text.len(), |next| *next as usize);
        let own = text.get(*start as usize..end).unwrap_or("");
        let mut stanza = read_stanza(own, style);
        if let Some(above) = stanzas.last() {
            settle(&above.stanza, own, &mut stanza);
        }
        stanzas.push(Placed {
            start: *start,
            stanza: Arc::new(stanza),
        });
    }
    File { stanzas }
}

/// Reads one stanza from its own text; spans count from its first byte.
///
/// One thing depends on the stanza above, and is for [`settle`] to say.
#[must_use]
pub fn read_stanza(text: &str, style: Style) -> Stanza {
    let mut reader = Reader::new(style);
    let mut stanza = Stanza {
        kind: StanzaKind::Preamble,
        header: Span::default(),
        name: None,
        title: None,
        // A line of an order is some 34 bytes.
        lines: Vec::with_capacity((text.len() / 32).min(MOST_LINES)),
        marks: Vec::new(),
        len: len32(text.len()),
    };
    let mut at = 0;
    let mut before: Option<Span> = None;
    let mut headed = false;
    while at < text.len() {
        let start = at;
        at = next_line(text.as_bytes(), start);
        match first_column(text, start) {
            Column::Loose => {}
            Column::Header if !headed => {
                headed = true;
                reader.header(&mut stanza, line_text(text, start, at), len32(start));
                if stanza.kind != StanzaKind::Unknown && too_long(&text[start..]) {
                    reader.refuse(&mut stanza);
                    break;
                }
            }
            _ if !headed => {
                let raw = line_text(text, start, at);
                let line = reader.unread(raw, len32(start));
                before = Some(before.map_or(line.span, |span| span.to(line.span)));
                stanza.lines.push(line);
            }
            _ => {
                if stanza.kind != StanzaKind::Unknown {
                    let raw = line_text(text, start, at);
                    let line = reader.line(&stanza, raw, len32(start));
                    stanza.lines.push(line);
                }
            }
        }
    }
    if let Some(span) = before {
        reader.unreadable(
            span,
            vec!["a stanza".to_owned()],
            Some(Why::BeforeFirstStanza),
            Vec::new(),
        );
    }
    mark_hidden(text, &mut reader.marks);
    reader.marks.sort_by_key(|mark| mark.span);
    stanza.marks = reader.marks;
    stanza.lines.shrink_to_fit();
    stanza
}

/// Says what only the stanza above can tell: a bare `drug NAME` in the first
/// column right after an order's lines was meant to be one of them; and a
/// byte-order mark with which the stanza's text begins does not begin the file.
pub fn settle(above: &Stanza, text: &str, stanza: &mut Stanza) {
    mark_inner_order(text, &mut stanza.marks);
    let own_lines =
        matches!(above.kind, StanzaKind::Order | StanzaKind::Specimen) && !above.lines.is_empty();
    let bare = matches!(
        stanza.kind,
        StanzaKind::Drug | StanzaKind::Area | StanzaKind::Pump | StanzaKind::GivingSet
    ) && stanza.title.is_none()
        && stanza.lines.is_empty()
        && stanza.name.is_some()
        && stanza.header.start == 0;
    if !own_lines || !bare {
        return;
    }
    // It declares nothing.
    stanza.name = None;
    let mark = unreadable_mark(
        stanza.header,
        Vec::new(),
        Some(Why::IndentThis),
        vec![Edit {
            span: Span::default(),
            text: "  ".to_owned(),
        }],
    );
    stanza.marks.insert(0, mark);
}

/// A line without what ends it.
fn line_text(text: &str, start: usize, next: usize) -> &str {
    text.get(start..next)
        .unwrap_or("")
        .trim_end_matches(['\n', '\r'])
}

fn too_long(text: &str) -> bool {
    text.len() > MOST_LINES && breaks(text).nth(MOST_LINES).is_some()
}

/// Reads the lines of one stanza.
struct Reader<'a> {
    style: Style,
    marks: Vec<Mark>,
    /// Whether all of the current line was read.
    whole: bool,
    source: Source<'a>,
    tokens: Vec<Token>,
    next: usize,
    seen: twice::Seen,
    /// An indented header stood above: the lines belong to nothing.
    orphaned: bool,
}

impl<'a> Reader<'a> {
    fn new(style: Style) -> Self {
        Self {
            style,
            marks: Vec::new(),
            whole: true,
            source: Source::default(),
            tokens: Vec::with_capacity(16),
            next: 0,
            seen: twice::Seen::default(),
            orphaned: false,
        }
    }

    /// A line that belongs to nothing.
    fn unread(&mut self, raw: &'a str, base: u32) -> Line {
        let source = Source::new(raw, base, &mut Vec::new());
        let span = source.span(0, source.text.len());
        Line {
            span,
            keyword: Span::new(span.start, span.start),
            fact: Fact::Unreadable,
            whole: false,
        }
    }

    /// A stanza of too many lines.
    fn refuse(&mut self, stanza: &mut Stanza) {
        self.unreadable(stanza.header, Vec::new(), Some(Why::TooLong), Vec::new());
        stanza.lines = vec![Line {
            span: stanza.header,
            keyword: stanza.header,
            fact: Fact::Unreadable,
            whole: false,
        }];
    }

    fn mark(&mut self, kind: MarkKind, span: Span, fixes: Vec<Edit>) {
        self.marks.push(Mark { kind, span, fixes });
    }

    /// Notes what could not be read; the line is not whole.
    fn unreadable(
        &mut self,
        span: Span,
        expected: Vec<String>,
        why: Option<Why>,
        fixes: Vec<Edit>,
    ) {
        self.whole = false;
        self.marks.push(unreadable_mark(span, expected, why, fixes));
    }

    fn no_value(&mut self, why: NoValue, span: Span) {
        self.whole = false;
        self.mark(MarkKind::NoValue(why), span, Vec::new());
    }

    /// The place of `start..end` of the line's text.
    fn at(&self, start: usize, end: usize) -> Span {
        self.source.span(start, end)
    }

    /// The place of a token, without the blanks that follow a word.
    fn place(&self, token: Token) -> Span {
        let text = self.token_text(token);
        self.at(token.start, token.start + text.trim_end().len())
    }

    fn token_text(&self, token: Token) -> &str {
        self.source.text.get(token.start..token.end).unwrap_or("")
    }

    fn advance(&mut self) -> Option<Token> {
        let token = self.tokens.get(self.next).copied();
        self.next += 1;
        token
    }

    /// The next token, if it is of the rule; it stays the next.
    fn peek(&self, rule: Rule) -> Option<Token> {
        self.tokens
            .get(self.next)
            .copied()
            .filter(|token| token.rule == rule)
    }

    fn next_if(&mut self, rule: Rule) -> Option<Token> {
        let token = self.peek(rule)?;
        self.next += 1;
        Some(token)
    }

    /// Whether the next token is of the rule; if so it is passed.
    fn skip(&mut self, rule: Rule) -> bool {
        self.next_if(rule).is_some()
    }
}

fn unreadable_mark(span: Span, expected: Vec<String>, why: Option<Why>, fixes: Vec<Edit>) -> Mark {
    Mark {
        kind: MarkKind::Unreadable(Box::new(Unreadable { expected, why })),
        span,
        fixes,
    }
}

/// For the bench: the rule by which the line is parsed, and what is parsed.
pub(crate) fn bare_line(text: &str, stanza: StanzaKind) -> Option<(Rule, &str)> {
    let (line, end) = keyword_of(text, stanza)?;
    let rest = text[end..].trim_start_matches(' ');
    Some((line.kind.row().rule, rest))
}
