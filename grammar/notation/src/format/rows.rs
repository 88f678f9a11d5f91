//! The lines of a text as the formatter sees them.

use super::code::{self, Code};
use crate::ast::{Fact, File, Line, Placed, Stanza};
use crate::lines::Reach;
use crate::read::MOST_LINES;
use crate::scan::next_line;
use crate::{MarkKind, Span, StanzaKind, Style, Why};

/// The indent of a stanza's lines.
const INDENT: usize = 2;
/// The indent of a phase's lines.
const IN_PHASE: usize = 4;

/// A line of the text.
#[derive(Debug)]
pub(super) struct Row<'a> {
    /// Without its end.
    pub(super) text: &'a str,
    /// `\n` or `\r\n`.
    pub(super) end: &'a str,
    /// What it is.
    pub(super) kind: Kind<'a>,
    /// What it belongs to.
    pub(super) part: Part,
    /// Whether a blank line belongs above it.
    pub(super) parted: bool,
}

/// What a line is.
#[derive(Debug)]
pub(super) enum Kind<'a> {
    /// Nothing but blanks.
    Blank,
    /// A comment, and its indent.
    Comment(usize),
    /// Left as it is.
    Raw,
    /// Laid out.
    Code(Code<'a>),
}

/// What a line belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    /// A comment or blank line, or a line that belongs to nothing.
    Loose,
    /// A header that could be read; whether of a `use`.
    Header {
        /// `use`.
        is_use: bool,
    },
    /// A header that could not be read.
    BadHeader,
    /// A stanza's line, and the indent it has or should have.
    Line {
        /// In blanks.
        indent: usize,
    },
}

/// The text's lines, each laid out by itself; comments are not placed yet.
pub(super) fn rows<'a>(text: &'a str, file: &File, style: Style) -> Vec<Row<'a>> {
    let usual_end = usual_end(text);
    let mut rows = Vec::new();
    for placed in &file.stanzas {
        let start = placed.start as usize;
        let end = (start + placed.stanza.len as usize).min(text.len());
        stanza_rows(text, start..end, placed, style, usual_end, &mut rows);
    }
    rows
}

/// How the text ends its lines; a lone CR, which few programs take for an
/// end, is written so too.
fn usual_end(text: &str) -> &'static str {
    let first = text.find('\n');
    match first.and_then(|at| at.checked_sub(1)) {
        Some(before) if text.as_bytes()[before] == b'\r' => "\r\n",
        _ => "\n",
    }
}

fn stanza_rows<'a>(
    text: &'a str,
    range: std::ops::Range<usize>,
    placed: &Placed,
    style: Style,
    usual_end: &'static str,
    rows: &mut Vec<Row<'a>>,
) {
    let stanza = &*placed.stanza;
    let first = rows.len();
    let indents = indents(stanza);
    let has_header = stanza.kind != StanzaKind::Preamble;
    let mut lines = stanza.lines.iter().zip(indents).peekable();
    let mut at = range.start;
    while at < range.end {
        let next = next_line(text.as_bytes(), at).min(range.end);
        let whole = text.get(at..next).unwrap_or_default();
        let row = whole.trim_end_matches(['\n', '\r']);
        let end = match whole.get(row.len()..) {
            Some(end @ ("\n" | "\r\n")) => end,
            _ => usual_end,
        };
        let local = at - range.start;
        let holds = |span: Span| (local..=local + row.len()).contains(&(span.start as usize));
        let context = code::Context {
            stanza,
            row,
            start: local,
            style,
        };
        let bare = row.trim_matches([' ', '\t']);
        let (kind, part) = if bare.is_empty() {
            (Kind::Blank, Part::Loose)
        } else if bare.starts_with('#') {
            (
                Kind::Comment(row.len() - row.trim_start_matches([' ', '\t']).len()),
                Part::Loose,
            )
        } else if has_header && holds(stanza.header) {
            // A stanza that was refused as too long holds its header as a line.
            lines.next_if(|(line, _)| line.span == stanza.header);
            match readable_header(stanza)
                .then(|| code::header(&context))
                .flatten()
            {
                Some(code) => {
                    let is_use = stanza.kind == StanzaKind::Use;
                    (Kind::Code(code), Part::Header { is_use })
                }
                None => (Kind::Raw, Part::BadHeader),
            }
        } else if let Some((line, indent)) = lines.next_if(|(line, _)| holds(line.span)) {
            let code = is_readable(line)
                .then(|| code::line(&context, line, indent))
                .flatten();
            let part = match stanza.kind {
                StanzaKind::Preamble => Part::Loose,
                _ => Part::Line { indent },
            };
            (code.map_or(Kind::Raw, Kind::Code), part)
        } else {
            (Kind::Raw, Part::Loose)
        };
        rows.push(Row {
            text: row,
            end,
            kind,
            part,
            parted: false,
        });
        at = next;
    }
    // Whether a stanza is too long to be read may hang on one line more or
    // less: such a one is not touched.
    let above = rows[first..]
        .iter()
        .take_while(|row| matches!(row.kind, Kind::Blank | Kind::Comment(_)))
        .count();
    if rows.len() - first - above + 1 >= MOST_LINES {
        for row in &mut rows[first..] {
            row.kind = Kind::Raw;
            row.part = Part::Loose;
        }
    }
}

fn is_readable(line: &Line) -> bool {
    line.whole && line.fact != Fact::Unreadable
}

fn readable_header(stanza: &Stanza) -> bool {
    let named = match stanza.kind {
        StanzaKind::Preamble | StanzaKind::Unknown => false,
        StanzaKind::Use => stanza.title.is_some(),
        _ => stanza.name.is_some(),
    };
    let spoilt = stanza.marks.iter().any(|mark| {
        let inside = stanza.header.start <= mark.span.start && mark.span.start <= stanza.header.end;
        inside
            && match &mark.kind {
                MarkKind::Unreadable(unreadable) => unreadable.why != Some(Why::TooLong),
                _ => false,
            }
    });
    named && !spoilt
}

/// The indent of each line. In the last phase, what closes the order (its
/// `then` and what holds for the whole of it) stands under the order.
fn indents(stanza: &Stanza) -> Vec<usize> {
    let is_phase = |line: &Line| matches!(line.fact, Fact::Phase { .. });
    let mut in_phase = false;
    let mut indents: Vec<_> = stanza
        .lines
        .iter()
        .map(|line| {
            let starts = is_phase(line);
            in_phase |= starts;
            if in_phase && !starts {
                IN_PHASE
            } else {
                INDENT
            }
        })
        .collect();
    for (line, indent) in stanza.lines.iter().zip(&mut indents).rev() {
        if is_phase(line) || stays_in_phase(&line.fact) {
            break;
        }
        *indent = INDENT;
    }
    indents
}

/// Whether a line of a phase is that phase's, also after its last run.
fn stays_in_phase(fact: &Fact) -> bool {
    let reach = fact.kind().map(|kind| kind.row().reach);
    matches!(reach, Some(Reach::EachPhase | Reach::FirstPhase))
}
