//! From bytes to what an editor counts, and back.

use gutta_notation::Span;
use ropey::Rope;
use tower_lsp::lsp_types::{Position, PositionEncodingKind, Range};

/// What an editor counts along a line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units, which every client knows.
    #[default]
    Utf16,
    /// Characters.
    Utf32,
}

impl Encoding {
    /// The first of the client's encodings that is known here.
    pub(crate) fn negotiate<'a>(offered: impl IntoIterator<Item = &'a str>) -> Self {
        let known = |kind: &str| match kind {
            "utf-8" => Some(Self::Utf8),
            "utf-16" => Some(Self::Utf16),
            "utf-32" => Some(Self::Utf32),
            _ => None,
        };
        offered.into_iter().find_map(known).unwrap_or_default()
    }

    pub(crate) const fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
            Self::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    /// How much an editor counts for the text.
    pub(crate) fn width(self, text: &str) -> u32 {
        let width = match self {
            Self::Utf8 => text.len(),
            Self::Utf16 => text.chars().map(char::len_utf16).sum(),
            Self::Utf32 => text.chars().count(),
        };
        u32::try_from(width).unwrap_or(u32::MAX)
    }
}

/// A text's lines, as an editor counts them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lines<'a> {
    pub(crate) rope: &'a Rope,
    pub(crate) encoding: Encoding,
}

impl Lines<'_> {
    /// Where the byte stands; what lies past the text's end stands at it.
    pub(crate) fn position(&self, offset: u32) -> Position {
        let offset = (offset as usize).min(self.rope.len_bytes());
        let line = self.rope.byte_to_line(offset);
        let column = offset - self.rope.line_to_byte(line);
        let text = self.rope.line(line);
        let column = match self.encoding {
            Encoding::Utf8 => column,
            Encoding::Utf16 => text.char_to_utf16_cu(text.byte_to_char(column)),
            Encoding::Utf32 => text.byte_to_char(column),
        };
        Position::new(count(line), count(column))
    }

    pub(crate) fn range(&self, span: Span) -> Range {
        Range::new(self.position(span.start), self.position(span.end))
    }

    /// The byte at the position; past a line's end, that end; past the text's
    /// last line, the text's end.
    pub(crate) fn offset(&self, position: Position) -> u32 {
        let line = position.line as usize;
        if line >= self.rope.len_lines() {
            return count(self.rope.len_bytes());
        }
        let start = self.rope.line_to_byte(line);
        let text = self.rope.line(line);
        let column = position.character as usize;
        let column = match self.encoding {
            Encoding::Utf8 => {
                let column = column.min(text.len_bytes());
                text.char_to_byte(text.byte_to_char(column))
            }
            Encoding::Utf16 => {
                let column = column.min(text.len_utf16_cu());
                text.char_to_byte(text.utf16_cu_to_char(column))
            }
            Encoding::Utf32 => text.char_to_byte(column.min(text.len_chars())),
        };
        let end = text.len_bytes() - break_len(text);
        count(start + column.min(end))
    }

    pub(crate) fn span(&self, range: Range) -> Span {
        let start = self.offset(range.start);
        Span::new(start, self.offset(range.end).max(start))
    }
}

/// The positions of bytes that are asked for in rising order, found in one
/// pass over the text: what is linear in the file need not search it.
#[derive(Clone, Debug)]
pub(crate) struct Forward<'a> {
    text: &'a str,
    encoding: Encoding,
    /// The line that was reached, and where it starts.
    line: u32,
    start: usize,
    /// Where the next line is looked for.
    next: usize,
    /// The byte of the line that was asked for last, and its column: a long
    /// line is not counted anew for each of its bytes.
    at: usize,
    column: u32,
}

impl<'a> Forward<'a> {
    pub(crate) const fn new(text: &'a str, encoding: Encoding) -> Self {
        Self {
            text,
            encoding,
            line: 0,
            start: 0,
            next: 0,
            at: 0,
            column: 0,
        }
    }

    /// Where the byte stands; what lies past the text's end stands at it. A
    /// byte before the last one is found too, from the text's start on.
    pub(crate) fn position(&mut self, offset: u32) -> Position {
        let offset = self.text.floor_char_boundary(offset as usize);
        if offset < self.start {
            *self = Self::new(self.text, self.encoding);
        }
        let bytes = self.text.as_bytes();
        while let Some(&byte) = bytes.get(self.next).filter(|_| self.next < offset) {
            self.next += 1;
            let split = byte == b'\r' && bytes.get(self.next) == Some(&b'\n');
            if byte == b'\n' || (byte == b'\r' && !split) {
                self.line += 1;
                self.start = self.next;
            }
        }
        if self.at < self.start || offset < self.at {
            (self.at, self.column) = (self.start, 0);
        }
        let before = self.text.get(self.at..offset).unwrap_or_default();
        self.column = self.column.saturating_add(self.encoding.width(before));
        self.at = offset;
        Position::new(self.line, self.column)
    }

    pub(crate) fn range(&mut self, span: Span) -> Range {
        let start = self.position(span.start);
        Range::new(start, self.position(span.end))
    }
}

/// The bytes of the break that ends a line.
fn break_len(line: ropey::RopeSlice<'_>) -> usize {
    let mut last = line.chars_at(line.len_chars());
    match (last.prev(), last.prev()) {
        (Some('\n'), Some('\r')) => 2,
        (Some('\n' | '\r'), _) => 1,
        _ => 0,
    }
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::{Encoding, Forward, Lines};
    use ropey::Rope;

    const TEXTS: [&str; 6] = ["", "a", "é𝕏b\r\n\r\nx\rµ\n", "\n\n", "a\r\n", "𝕏\n"];

    #[test]
    fn every_character_comes_back() {
        for text in TEXTS {
            let rope = Rope::from_str(text);
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let lines = Lines {
                    rope: &rope,
                    encoding,
                };
                let mut forward = Forward::new(text, encoding);
                for (at, found) in text.char_indices() {
                    // The second half of a line's end is nowhere.
                    if found == '\n' && text[..at].ends_with('\r') {
                        continue;
                    }
                    let at = at as u32;
                    assert_eq!(forward.position(at), lines.position(at), "{text:?}");
                    assert_eq!(
                        lines.offset(lines.position(at)),
                        at,
                        "{text:?} {encoding:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_long_line_is_counted_once() {
        let text = "5 mL \u{b5} ".repeat(200_000);
        let mut forward = Forward::new(&text, Encoding::Utf16);
        for at in (0..text.len() as u32).step_by(8) {
            assert_eq!(forward.position(at).character, at / 8 * 7);
        }
        assert_eq!(forward.position(8).character, 7);
    }

    #[test]
    fn columns_are_counted_as_agreed() {
        let rope = Rope::from_str("é𝕏b");
        for (encoding, column) in [
            (Encoding::Utf8, 6),
            (Encoding::Utf16, 3),
            (Encoding::Utf32, 2),
        ] {
            let lines = Lines {
                rope: &rope,
                encoding,
            };
            assert_eq!(lines.position(6).character, column);
        }
    }

    #[test]
    fn what_lies_outside_is_drawn_in() {
        let rope = Rope::from_str("ab\r\ncd");
        let lines = Lines {
            rope: &rope,
            encoding: Encoding::Utf16,
        };
        let at = |line, character| lines.offset(tower_lsp::lsp_types::Position { line, character });
        assert_eq!(at(0, 99), 2);
        assert_eq!(at(1, 99), 6);
        assert_eq!(at(99, 0), 6);
        assert_eq!(lines.position(99), lines.position(6));
    }
}
