//! One line that was read, laid out.

use super::spelling;
use crate::ast::{Fact, LimitMeasure, Line, NeverWhat, Stanza};
use crate::{Mark, MarkKind, Span, StanzaKind, Style};

/// Where the words after a keyword begin, counted from the indent of a
/// stanza's lines.
const COLUMN: usize = 11;
/// The same for a drug's limits, whose keywords are longer by a measure.
const LIMIT_COLUMN: usize = 17;
/// The least number of blanks before a comment.
const BEFORE_COMMENT: usize = 2;
/// How far apart tab stops are.
const TAB: usize = 8;

/// A line laid out.
#[derive(Debug)]
pub(super) struct Code<'a> {
    /// The line, without its comment.
    pub(super) text: String,
    /// The comment behind it.
    pub(super) comment: Option<Comment<'a>>,
}

/// A comment behind a line.
#[derive(Debug)]
pub(super) struct Comment<'a> {
    /// From its `#` to its last character.
    pub(super) text: &'a str,
    /// The column it stood in.
    pub(super) column: usize,
    /// How many blanks stand before it.
    pub(super) gap: usize,
}

/// A line of the text and the stanza that holds it.
pub(super) struct Context<'a, 'b> {
    pub(super) stanza: &'b Stanza,
    /// The line, without its end.
    pub(super) row: &'a str,
    /// Where it starts, from the stanza's first byte.
    pub(super) start: usize,
    pub(super) style: Style,
}

/// A header: its words, one blank apart, in the first column.
pub(super) fn header<'a>(context: &Context<'a, '_>) -> Option<Code<'a>> {
    let (text, comment) = context.parts(context.stanza.header)?;
    Some(Code::settled(words(&text, &[]).join(" "), comment))
}

/// A stanza's line: indented, its words after the keyword aligned.
pub(super) fn line<'a>(context: &Context<'a, '_>, line: &Line, indent: usize) -> Option<Code<'a>> {
    let (text, keyword_words, comment) = context.parts_of_line(line)?;
    let stops: &[char] = match line.fact {
        Fact::LineMembers { .. } => &[',', ':'],
        // The name of a rule may hold anything but a blank.
        Fact::Waive(_) | Fact::ExpectFinding(_) => &[],
        _ => &[','],
    };
    let words = words(&text, stops);
    let keyword = keyword(line, &words, keyword_words);
    let column = if has_measure(line) {
        LIMIT_COLUMN
    } else {
        COLUMN
    };
    // Deeper lines begin later and align with the others all the same.
    let width = (column + 2).saturating_sub(indent);
    let used = keyword.split(' ').count();
    let rest = words.get(used..).unwrap_or_default();
    let mut laid = " ".repeat(indent) + &keyword;
    if !rest.is_empty() {
        let blanks = width.saturating_sub(keyword.chars().count()).max(1);
        laid.extend(std::iter::repeat_n(' ', blanks));
        laid.push_str(&rest.join(" "));
    }
    Some(Code::settled(
        spelling::units(&laid, context.style),
        comment,
    ))
}

impl<'a> Context<'a, '_> {
    /// The text at `span`, corrected in spelling, and the comment behind it;
    /// `None` where anything else stands on the line, or what only looks like
    /// a blank.
    fn parts(&self, span: Span) -> Option<(String, Option<Comment<'a>>)> {
        let (start, end) = (
            (span.start as usize).checked_sub(self.start)?,
            (span.end as usize).checked_sub(self.start)?,
        );
        let is_blank = |c: char| c == ' ' || c == '\t';
        let before = self.row.get(..start)?;
        let text = self.row.get(start..end)?;
        let behind = self.row.get(end..)?.trim_start_matches(is_blank);
        let plain = before.chars().all(is_blank) && (behind.is_empty() || behind.starts_with('#'));
        if !plain || wide_digits(text) {
            return None;
        }
        let column = column(self.row.get(..self.row.len() - behind.len())?);
        let comment = (!behind.is_empty()).then(|| Comment {
            text: behind.trim_end_matches(is_blank),
            column,
            gap: BEFORE_COMMENT,
        });
        let mut corrected = text.to_owned();
        let mut last = text.len();
        let marks = &self.stanza.marks;
        let first = marks.partition_point(|mark| mark.span.start < span.start);
        let inside = marks[first..]
            .iter()
            .take_while(|mark| mark.span.start < span.end);
        let inside: Vec<_> = inside.collect();
        for mark in inside.iter().rev() {
            if matches!(mark.kind, MarkKind::OddCharacter { .. }) {
                return None;
            }
            let Some(edit) = spelling::correction(mark).filter(|_| !self.shows(mark)) else {
                continue;
            };
            let from = (edit.span.start as usize).checked_sub(self.start + start)?;
            let to = (edit.span.end as usize).checked_sub(self.start + start)?;
            // Of two that meet, the later one holds.
            if from <= to && to <= last && corrected.get(from..to).is_some() {
                corrected.replace_range(from..to, &edit.text);
                last = from;
            }
        }
        Some((corrected, comment))
    }

    /// Whether the stanza is a specimen of what was noticed, and so keeps it.
    fn shows(&self, mark: &Mark) -> bool {
        let rule = mark.kind.rule();
        let expected =
            |line: &Line| matches!(&line.fact, Fact::ExpectFinding(name) if name.value == rule);
        self.stanza.kind == StanzaKind::Specimen && self.stanza.lines.iter().any(expected)
    }

    /// The same for a line, and of how many words its keyword is.
    fn parts_of_line(&self, line: &Line) -> Option<(String, usize, Option<Comment<'a>>)> {
        let (text, comment) = self.parts(line.span)?;
        let start = (line.keyword.start as usize).checked_sub(self.start)?;
        let end = (line.keyword.end as usize).checked_sub(self.start)?;
        let keyword = self.row.get(start..end)?;
        // What follows a keyword without a blank is not its next word.
        let parted = self.row.get(end..)?.starts_with([' ', '\t', '#']);
        let ends = end - start == (line.span.end - line.span.start) as usize;
        (parted || ends).then(|| (text, words(keyword, &[]).len(), comment))
    }
}

impl<'a> Code<'a> {
    /// With its comment where it stood, if there is room for it.
    fn settled(text: String, mut comment: Option<Comment<'a>>) -> Self {
        if let Some(comment) = &mut comment {
            let gap = comment.column.saturating_sub(column(&text));
            comment.gap = gap.max(BEFORE_COMMENT);
        }
        Self { text, comment }
    }
}

/// The columns that a text takes, from the first on.
pub(super) fn column(text: &str) -> usize {
    text.chars().fold(0, |column, c| match c {
        '\t' => (column / TAB + 1) * TAB,
        _ => column + 1,
    })
}

/// Whether the keyword is followed by a measure, as in `never bolus rate`.
fn has_measure(line: &Line) -> bool {
    match &line.fact {
        Fact::Usual(_) => true,
        Fact::Never(never) => matches!(never.what, NeverWhat::Limit(_)),
        _ => false,
    }
}

/// What the words after are aligned to: the keyword, and what belongs to it
/// (`never dose`, `never by`), its words one blank apart.
fn keyword(line: &Line, words: &[String], keyword_words: usize) -> String {
    let more = match &line.fact {
        Fact::Usual(usual) => measure_words(usual.limit.measure.value),
        Fact::Never(never) => match &never.what {
            NeverWhat::Limit(limit) => measure_words(limit.measure.value),
            NeverWhat::By(_) | NeverWhat::In(_) | NeverWhat::Undiluted => 1,
        },
        _ => 0,
    };
    let count = (keyword_words + more).min(words.len());
    words.get(..count).unwrap_or_default().join(" ")
}

fn measure_words(measure: LimitMeasure) -> usize {
    measure.phrase().split(' ').count()
}

/// Whether two numbers stand more than one blank apart: with one blank they
/// may be one number.
fn wide_digits(text: &str) -> bool {
    let bytes = text.as_bytes();
    let is_blank = |byte: u8| byte == b' ' || byte == b'\t';
    let mut at = 0;
    while let Some(offset) = bytes[at..].iter().position(|byte| is_blank(*byte)) {
        let start = at + offset;
        let length = bytes[start..]
            .iter()
            .take_while(|byte| is_blank(**byte))
            .count();
        let before = start.checked_sub(1).map(|before| bytes[before]);
        let after = bytes.get(start + length);
        let digit = |byte: u8| byte.is_ascii_digit() || byte == b'.' || byte == b',';
        let wide = length > 1 || bytes[start] == b'\t';
        if wide && before.is_some_and(digit) && after.is_some_and(|byte| digit(*byte)) {
            return true;
        }
        at = start + length;
    }
    false
}

/// The words of a line. A quoted text is part of one word, whatever it holds;
/// one of the `stops` belongs to the word before it and ends it, unless a digit
/// follows.
fn words(text: &str, stops: &[char]) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut open = false;
    let mut quoted = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            ' ' | '\t' if !quoted => open = false,
            c if !quoted && stops.contains(&c) => {
                let ends = chars.peek().is_none_or(|next| !next.is_ascii_digit());
                match words.last_mut() {
                    Some(word) if open || ends => word.push(c),
                    _ => words.push(c.into()),
                }
                open = !ends;
            }
            _ => {
                quoted ^= c == '"';
                match words.last_mut() {
                    Some(word) if open => word.push(c),
                    _ => words.push(c.into()),
                }
                open = true;
            }
        }
    }
    words
}
