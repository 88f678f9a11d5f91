//! Where stanzas start: a scan of the first column alone.

use memchr::memchr2;

use crate::lines;

/// The offsets at which the stanzas of `text` start, in rising order. The
/// first is 0 unless the text is empty; each stanza goes on to the next start.
/// Comment and blank lines directly above a header are that header's. Text
/// from 4 GiB on belongs to the last stanza.
#[must_use]
pub fn stanza_starts(text: &str) -> Vec<u32> {
    let mut starts = Vec::new();
    scan(text, 0, usize::MAX, |start| starts.push(start));
    if starts.first() != Some(&0) && !text.is_empty() {
        starts.insert(0, 0);
    }
    starts
}

/// Calls `found` with the start of each header's stanza, from `from` (which
/// must be a line's start), until a header's line starts at or after `until`,
/// which is still reported.
fn scan(text: &str, from: usize, until: usize, mut found: impl FnMut(u32)) {
    let bytes = text.as_bytes();
    let mut loose = None;
    let mut at = from;
    while at < bytes.len() {
        let Ok(start) = u32::try_from(at) else { return };
        match first_column(text, at) {
            Column::Header => {
                found(loose.take().unwrap_or(start));
                if at >= until {
                    return;
                }
            }
            Column::Loose => loose = loose.or(Some(start)),
            Column::Body => loose = None,
        }
        at = next_line(bytes, at);
    }
}

/// The start of the line after the one that holds `at`: past LF, CRLF or a
/// lone CR.
pub(crate) fn next_line(bytes: &[u8], at: usize) -> usize {
    let rest = bytes.get(at..).unwrap_or_default();
    match memchr2(b'\n', b'\r', rest) {
        None => bytes.len(),
        Some(length) if rest[length] == b'\r' && rest.get(length + 1) == Some(&b'\n') => {
            at + length + 2
        }
        Some(length) => at + length + 1,
    }
}

/// What a line is, by its own text alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Column {
    /// It starts a stanza.
    Header,
    /// Blank, or a comment.
    Loose,
    /// It belongs to the stanza above.
    Body,
}

/// What the line that starts at `at` is.
pub(crate) fn first_column(text: &str, at: usize) -> Column {
    let bytes = text.as_bytes();
    match bytes.get(at) {
        None | Some(b'#' | b'\n' | b'\r') => Column::Loose,
        Some(b' ' | b'\t') => {
            let mut next = at + 1;
            while matches!(bytes.get(next), Some(b' ' | b'\t')) {
                next += 1;
            }
            match bytes.get(next) {
                None | Some(b'#' | b'\n' | b'\r') => Column::Loose,
                Some(0x0c | 0x80..) => odd_column(text, next, true),
                Some(_) => Column::Body,
            }
        }
        Some(0x0c | 0x80..) => odd_column(text, at, false),
        Some(_) => by_first_word(&text[at..]),
    }
}

/// The same for a line whose first character is none of ASCII's.
fn odd_column(text: &str, at: usize, mut indented: bool) -> Column {
    for (offset, found) in text[at..].char_indices() {
        match found {
            '#' | '\n' | '\r' => return Column::Loose,
            _ if is_nothing(found) => {}
            ' ' | '\t' => indented = true,
            _ if is_odd_blank(found) => indented = true,
            _ if indented => return Column::Body,
            _ => return by_first_word(&text[at + offset..]),
        }
    }
    Column::Loose
}

fn by_first_word(rest: &str) -> Column {
    let end = rest
        .find(|c: char| c == ' ' || c == '\t' || c == '\n' || c == '\r' || is_odd_blank(c))
        .unwrap_or(rest.len());
    if lines::is_line_keyword_only(&rest[..end]) {
        Column::Body
    } else {
        Column::Header
    }
}

/// Characters that look like a blank and are none: no-break and thin spaces
/// and their kin, form feed and vertical tab.
pub(crate) const fn is_odd_blank(found: char) -> bool {
    matches!(
        found,
        '\u{a0}' | '\u{1680}' | '\u{2000}'
            ..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}' | '\u{c}' | '\u{b}'
    )
}

/// Characters that take no room: a byte-order mark, zero-width characters.
pub(crate) const fn is_nothing(found: char) -> bool {
    matches!(
        found,
        '\u{feff}' | '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{ad}'
    )
}

/// The stanza starts of a text that is being edited.
///
/// Whether a line starts a stanza depends on that line alone, so an edit
/// moves only the starts near it: the rest is shifted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Starts {
    starts: Vec<u32>,
}

/// What an edit did to the list of stanzas.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Touched {
    /// The first stanza whose text may have changed.
    pub first: usize,
    /// How many stanzas stood there before.
    pub before: usize,
    /// How many stand there now.
    pub after: usize,
}

impl Starts {
    /// From a full scan.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self {
            starts: stanza_starts(text),
        }
    }

    /// From the starts that a scan has found, in rising order.
    #[must_use]
    pub fn of(starts: impl Iterator<Item = u32>) -> Self {
        Self {
            starts: starts.collect(),
        }
    }

    /// The starts, as [`stanza_starts`] gives them.
    #[must_use]
    pub fn as_slice(&self) -> &[u32] {
        &self.starts
    }

    /// The place in the list of the stanza that holds the byte at `offset`.
    #[must_use]
    pub fn at(&self, offset: u32) -> usize {
        self.starts
            .partition_point(|start| *start <= offset)
            .saturating_sub(1)
    }

    /// Takes an edit in: the bytes `from..old_end` of the text before were
    /// replaced, and `text`, as it is now, has the replacement at
    /// `from..new_end`. Stanzas outside the answer kept their text.
    pub fn edit(&mut self, text: &str, from: u32, old_end: u32, new_end: u32) -> Touched {
        // One stanza above the edit is looked at too: a header that comes or
        // goes moves the comments above it, and a CR may meet an LF.
        let first = self.at(from.saturating_sub(1)).saturating_sub(1);
        let scan_from = self.starts.get(first).copied().unwrap_or(0);
        // The first start kept is the second one whose line the edit cannot
        // have reached: the comments above the first may have changed hands.
        let past = self.starts.partition_point(|start| *start <= old_end);
        let kept = (past + 1).min(self.starts.len());
        let shift = i64::from(new_end) - i64::from(old_end);
        let moved =
            |start: u32| u32::try_from((i64::from(start) + shift).max(0)).unwrap_or(u32::MAX);
        let until = self.starts.get(kept).map(|start| moved(*start));
        let mut fresh = Vec::new();
        let stop = until.map_or(usize::MAX, |start| start as usize);
        scan(text, scan_from as usize, stop, |start| {
            if until.is_none_or(|until| start < until) {
                fresh.push(start);
            }
        });
        if first == 0 && fresh.first() != Some(&0) && until != Some(0) && !text.is_empty() {
            fresh.insert(0, 0);
        }
        let touched = Touched {
            first,
            before: kept - first.min(kept),
            after: fresh.len(),
        };
        for start in &mut self.starts[kept..] {
            *start = moved(*start);
        }
        self.starts.splice(first.min(kept)..kept, fresh);
        touched
    }
}
