//! What each piece of the text is, for its colour.

use gutta_notation::lines::LINES;
use gutta_notation::words::{OWN, stanza_kind};
use gutta_notation::{Fact, Line, Span, Stanza, StanzaKind};
use gutta_protocol::{Space, StanzaId};

use super::leaves::{Leaf, leaves};
use crate::state::Site;

/// What a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TokenKind {
    /// What begins a stanza or line.
    Keyword,
    /// A word of the notation within a line.
    Word,
    Number,
    Unit,
    Text,
    Comment,
    /// The name of a stanza of this kind.
    Name(StanzaKind),
    Substance,
    Phase,
    /// An infusion line of a set.
    Line,
    Purpose,
    Route,
    Measure,
    Rule,
}

/// A piece of the text, inside one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Token {
    /// From the file's start.
    pub(crate) span: Span,
    pub(crate) kind: TokenKind,
    /// Whether it is a name that is declared here.
    pub(crate) declares: bool,
}

/// The pieces of the stanzas that the stretch touches, or of the whole file;
/// in the order of the text, none over another, each on one line.
pub(crate) fn tokens(site: Site<'_>, within: Option<Span>) -> Vec<Token> {
    let mut out = Vec::new();
    match within {
        Some(span) => {
            for id in site.stanzas_in(span) {
                stanza(site, id, &mut out);
            }
            out.retain(|token| token.span.start < span.end && span.start < token.span.end);
        }
        None => {
            for id in site.workspace.stanzas_in(site.file) {
                stanza(site, id, &mut out);
            }
        }
    }
    out
}

fn stanza(site: Site<'_>, id: StanzaId, out: &mut Vec<Token>) {
    let stanza = site.workspace.stanza(id);
    let text = site.workspace.stanza_text(id);
    let mut marked = pieces(site, id, stanza);
    marked.sort_by_key(|(span, ..)| (span.start, span.end));
    let mut marked = marked.into_iter().peekable();
    let mut lines = stanza.lines.iter().peekable();
    let mut writer = Writer {
        text,
        start: site.start_of(id),
        row: 0,
        out,
    };
    let mut at = 0;
    for row in text.split_inclusive(['\n', '\r']) {
        let (from, to) = (at, at + row.trim_end_matches(['\n', '\r']).len());
        at += row.len();
        writer.row = from;
        let code = from + comment(row).unwrap_or(to - from);
        let is_header = stanza.kind != StanzaKind::Preamble && holds(from, code, stanza.header);
        let line = if is_header {
            // A stanza that is too long to be read holds its header as a line.
            lines.next_if(|line| line.span == stanza.header);
            None
        } else {
            lines.next_if(|line| holds(from, code, line.span))
        };
        let words = Words::of(stanza, line, is_header);
        let mut done = from;
        while let Some((span, kind, declares)) =
            marked.next_if(|(span, ..)| (span.end as usize) <= code)
        {
            let (start, end) = (span.start as usize, span.end as usize);
            if start < done {
                continue;
            }
            writer.gap(done, start, words);
            match kind {
                None => writer.quantity(start, end),
                Some(kind) => writer.push(start, end, kind, declares),
            }
            done = end;
        }
        writer.gap(done, code, words);
        writer.push(code, to, TokenKind::Comment, false);
    }
}

/// Whether the stretch begins in the row.
fn holds(from: usize, to: usize, span: Span) -> bool {
    !span.is_empty() && (from..to).contains(&(span.start as usize))
}

/// Where in the row its comment begins.
fn comment(row: &str) -> Option<usize> {
    let mut quoted = false;
    let found = row.char_indices().find(|(_, c)| {
        quoted ^= *c == '"';
        *c == '#' && !quoted
    });
    found.map(|(at, _)| at)
}

type Piece = (Span, Option<TokenKind>, bool);

/// What the reader has found in the stanza; quantities without a kind, which
/// are parted further.
fn pieces(site: Site<'_>, id: StanzaId, stanza: &Stanza) -> Vec<Piece> {
    let mut found: Vec<Piece> = Vec::new();
    let kind = stanza.kind;
    let header = stanza.name.iter().map(|name| name.span);
    found.extend(header.map(|span| (span, Some(TokenKind::Name(kind)), true)));
    let title = stanza.title.iter().map(|title| title.span);
    found.extend(title.map(|span| (span, Some(TokenKind::Text), false)));
    for reference in site.workspace.references(id) {
        let kind = match reference.spaces {
            [Space::Substance, ..] | [] => TokenKind::Substance,
            [Space::Stanza(kind), ..] => TokenKind::Name(*kind),
        };
        found.push((reference.span, Some(kind), false));
    }
    for (span, leaf) in stanza.lines.iter().flat_map(leaves) {
        let (kind, declares) = match leaf {
            Leaf::Quantity => (None, false),
            Leaf::Date => (Some(TokenKind::Number), false),
            Leaf::Unit => (Some(TokenKind::Unit), false),
            Leaf::Text => (Some(TokenKind::Text), false),
            Leaf::Route => (Some(TokenKind::Route), false),
            Leaf::Measure => (Some(TokenKind::Measure), false),
            Leaf::Rule => (Some(TokenKind::Rule), false),
            Leaf::Substance => (Some(TokenKind::Substance), true),
            Leaf::Also => (Some(TokenKind::Name(StanzaKind::Drug)), true),
            Leaf::Line => (Some(TokenKind::Line), true),
            Leaf::Phase => (Some(TokenKind::Phase), true),
            Leaf::PhaseMention => (Some(TokenKind::Phase), false),
            Leaf::Purpose | Leaf::Class => (Some(TokenKind::Purpose), false),
        };
        found.push((span, kind, declares));
    }
    found
}

/// What the words between the pieces of a row are.
#[derive(Clone, Copy, Debug)]
enum Words {
    /// Those up to this byte are the keyword, the rest the notation's.
    Read(usize),
    /// The first one may be a keyword; the line could not be read.
    Unread,
    /// Nothing is known of them.
    Nothing,
}

impl Words {
    fn of(stanza: &Stanza, line: Option<&Line>, is_header: bool) -> Self {
        match line {
            Some(line) if line.fact == Fact::Unreadable => Self::Unread,
            Some(line) => Self::Read(line.keyword.end as usize),
            None if is_header && stanza.kind != StanzaKind::Unknown => Self::Unread,
            None => Self::Nothing,
        }
    }
}

struct Writer<'a> {
    /// The stanza's.
    text: &'a str,
    start: u32,
    /// Where the row begins, in the stanza.
    row: usize,
    out: &'a mut Vec<Token>,
}

impl Writer<'_> {
    fn push(&mut self, from: usize, to: usize, kind: TokenKind, declares: bool) {
        if from < to {
            let span = Span::new(count(from), count(to)).shifted(self.start);
            self.out.push(Token {
                span,
                kind,
                declares,
            });
        }
    }

    /// The words between two pieces.
    fn gap(&mut self, from: usize, to: usize, words: Words) {
        let text = self.text;
        let Some(gap) = text.get(from..to) else {
            return;
        };
        if gap.trim().is_empty() {
            return;
        }
        let mut first = text[self.row..from].trim().is_empty();
        for (start, end) in parts(gap) {
            let word = &gap[start..end];
            let (start, end) = (from + start, from + end);
            let kind = match words {
                _ if word.starts_with('"') => Some(TokenKind::Text),
                Words::Read(keyword) if start < keyword => Some(TokenKind::Keyword),
                Words::Read(_) => Some(TokenKind::Word),
                Words::Unread if first => is_keyword(word).then_some(TokenKind::Keyword),
                Words::Unread if word.starts_with(|c: char| c.is_ascii_digit()) => {
                    self.quantity(start, end);
                    None
                }
                Words::Unread => OWN.contains(&word).then_some(TokenKind::Word),
                Words::Nothing => None,
            };
            first = false;
            if let Some(kind) = kind {
                self.push(start, end, kind, false);
            }
        }
    }

    /// A quantity's numbers and units.
    fn quantity(&mut self, from: usize, to: usize) {
        let Some(text) = self.text.get(from..to) else {
            return;
        };
        for (start, end) in parts(text) {
            let word = &text[start..end];
            let is_figure = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ':');
            let figures = word.len() - word.trim_start_matches(is_figure).len();
            let (start, middle, end) = (from + start, from + start + figures, from + end);
            self.push(start, middle, TokenKind::Number, false);
            let rest = if word == "per" {
                TokenKind::Word
            } else {
                TokenKind::Unit
            };
            self.push(middle, end, rest, false);
        }
    }
}

/// Where the words stand: between blanks, without the comma or colon behind
/// them; a quoted text is one.
fn parts(text: &str) -> Vec<(usize, usize)> {
    let mut parts = Vec::new();
    let mut start = None;
    let mut quoted = false;
    let mut close = |start: &mut Option<usize>, end: usize| {
        if let Some(from) = start.take() {
            let word = text[from..end].trim_end_matches([',', ':']);
            if !word.is_empty() {
                parts.push((from, from + word.len()));
            }
        }
    };
    for (at, c) in text.char_indices() {
        match c {
            '"' if quoted => {
                quoted = false;
                close(&mut start, at + 1);
            }
            '"' => {
                close(&mut start, at);
                quoted = true;
                start = Some(at);
            }
            c if c.is_whitespace() && !quoted => close(&mut start, at),
            _ => start = start.or(Some(at)),
        }
    }
    close(&mut start, text.len());
    parts
}

/// Whether a line or stanza can begin with the word.
fn is_keyword(word: &str) -> bool {
    let begins = |words: &str| words.split(' ').next() == Some(word);
    stanza_kind(word).is_some() || LINES.iter().any(|line| begins(line.words))
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests;
