//! Lines and columns of the places in a file.

use std::cell::{Cell, OnceCell};
use std::ops::Range;

use gutta_notation::breaks;
use gutta_protocol::{FileId, Workspace};
use serde::Serialize;

/// A line and a column, both from 1; the column counts characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub(crate) struct Position {
    /// The line.
    pub(crate) line: usize,
    /// The column.
    pub(crate) column: usize,
}

/// The lines of every file, found when first asked for.
pub(crate) struct Lines<'a> {
    files: Vec<FileLines<'a>>,
}

struct FileLines<'a> {
    text: &'a str,
    /// Where each line begins.
    starts: OnceCell<Vec<usize>>,
    /// The last place that was asked for: its offset, its line's index and its
    /// column. Findings come in order, so that a line of many of them is
    /// counted through once.
    last: Cell<(usize, usize, usize)>,
}

impl<'a> Lines<'a> {
    /// The lines of a workspace's files.
    pub(crate) fn of(workspace: &'a Workspace) -> Self {
        let files = workspace
            .files
            .iter()
            .map(|file| FileLines {
                text: &file.text,
                starts: OnceCell::new(),
                last: Cell::new((0, 0, 1)),
            })
            .collect();
        Self { files }
    }

    /// Where a byte of the file stands. One inside a character counts as the
    /// character's first, one past the end as the end.
    pub(crate) fn position(&self, file: FileId, offset: u32) -> Position {
        self.files
            .get(file.0 as usize)
            .map_or(Position { line: 1, column: 1 }, |lines| {
                lines.position(offset as usize)
            })
    }

    /// The bytes of a line (an index, from 0), without its line end.
    pub(crate) fn range(&self, file: FileId, line: usize) -> Range<usize> {
        let Some(lines) = self.files.get(file.0 as usize) else {
            return 0..0;
        };
        let starts = lines.starts();
        let start = starts.get(line).copied().unwrap_or(lines.text.len());
        let end = starts.get(line + 1).copied().unwrap_or(lines.text.len());
        let text = lines.text.get(start..end).unwrap_or_default();
        start..start + text.trim_end_matches(['\r', '\n']).len()
    }
}

impl FileLines<'_> {
    fn starts(&self) -> &[usize] {
        self.starts.get_or_init(|| starts(self.text))
    }

    fn position(&self, offset: usize) -> Position {
        let offset = self.text.floor_char_boundary(offset);
        let starts = self.starts();
        let index = starts
            .partition_point(|start| *start <= offset)
            .saturating_sub(1);
        let start = starts.get(index).copied().unwrap_or(0);
        let (from, column) = match self.last.get() {
            (from, line, column) if line == index && from <= offset && from >= start => {
                (from, column)
            }
            _ => (start, 1),
        };
        // Nothing lies between where the place is in the byte-order mark.
        let between = self.text.get(from..offset).unwrap_or_default();
        let column = column + between.chars().count();
        self.last.set((offset, index, column));
        Position {
            line: index + 1,
            column,
        }
    }
}

/// Where the lines begin: after a byte-order mark, after LF, CRLF or a lone CR,
/// and nowhere else.
fn starts(text: &str) -> Vec<usize> {
    let first = if text.starts_with('\u{feff}') { 3 } else { 0 };
    std::iter::once(first).chain(breaks(text)).collect()
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{FileId, House, Workspace};

    use super::{Lines, Position};

    fn at(text: &str, needle: &str) -> (usize, usize) {
        let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
        let lines = Lines::of(&workspace);
        let offset = u32::try_from(text.find(needle).expect("the needle")).expect("a small text");
        let Position { line, column } = lines.position(FileId(0), offset);
        (line, column)
    }

    #[test]
    fn lines_end_at_lf_crlf_and_lone_cr() {
        let text = "a\nb\r\nc\rd\u{2028}e\u{85}f";
        assert_eq!(at(text, "b"), (2, 1));
        assert_eq!(at(text, "c"), (3, 1));
        assert_eq!(at(text, "d"), (4, 1));
        assert_eq!(at(text, "f"), (4, 5));
    }

    #[test]
    fn columns_count_characters() {
        assert_eq!(at("\tx", "x"), (1, 2));
        assert_eq!(at("\u{e9}e\u{301}\u{6f22}\u{1f489}x", "x"), (1, 6));
    }

    #[test]
    fn a_byte_order_mark_is_no_column() {
        assert_eq!(at("\u{feff}ab", "\u{feff}"), (1, 1));
        assert_eq!(at("\u{feff}ab", "a"), (1, 1));
        assert_eq!(at("\u{feff}ab", "b"), (1, 2));
    }

    #[test]
    fn places_may_be_asked_for_in_any_order() {
        let text = "ab\ncd";
        let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
        let lines = Lines::of(&workspace);
        let found: Vec<_> = [4, 3, 0, 1, 5, 99, 2]
            .map(|offset| lines.position(FileId(0), offset))
            .map(|at| (at.line, at.column))
            .into();
        assert_eq!(
            found,
            [(2, 2), (2, 1), (1, 1), (1, 2), (2, 3), (2, 3), (1, 3)]
        );
    }
}
