//! The lines of the orders that a finding shows: only those, cut to the
//! terminal's width, with nothing hidden.

use std::collections::BTreeMap;
use std::ops::Range;

use codespan_reporting::diagnostic::{Label, LabelStyle};
use codespan_reporting::files::{Error, Files};
use gutta_notation::{Hidden, code, shown_length, visible};
use gutta_protocol::{FileId, Place};
use unicode_width::UnicodeWidthChar;

use super::{Position, Report};

/// How wide a tab is shown.
pub(super) const TAB: usize = 4;

/// What is marked in the text.
pub(super) struct Marked<'a> {
    pub(super) style: LabelStyle,
    pub(super) place: Place,
    pub(super) message: &'a str,
}

/// The lines that a finding marks, as a small file each.
#[derive(Default)]
pub(super) struct Snippet {
    files: Vec<SnippetFile>,
}

struct SnippetFile {
    id: FileId,
    name: String,
    source: String,
    /// By index, from 0: where the line stands in `source`.
    lines: BTreeMap<usize, Range<usize>>,
    /// By place in `source`: the column in the file.
    columns: BTreeMap<usize, usize>,
}

/// A line's text as it is shown, and where it was cut.
struct Cut {
    /// The bytes of the file that are shown.
    from: Range<usize>,
    before: bool,
    after: bool,
}

const DOTS: char = '\u{2026}';

impl Snippet {
    /// The lines of the places marked, the first of them the finding's own,
    /// and a label for each. What a label cannot hold beside its line comes
    /// back as a note.
    pub(super) fn of(
        report: &Report<'_>,
        marked: &[Marked<'_>],
        width: usize,
    ) -> (Self, Vec<Label<usize>>, Vec<String>) {
        let mut snippet = Self::default();
        let mut labels = Vec::new();
        let mut notes = Vec::new();
        let places: Vec<_> = marked.iter().map(|mark| clip(report, mark.place)).collect();
        let last = places.iter().map(|(at, _)| at.line).max().unwrap_or(1);
        let room = width.saturating_sub(last.to_string().len() + 3).max(20);
        for (mark, (at, bytes)) in marked.iter().zip(places) {
            let file = snippet.part(report, mark.place.file);
            let range = snippet.line(report, file, at.line - 1, &bytes, room);
            let part = &mut snippet.files[file];
            part.columns.insert(range.start, at.column);
            let line = part.lines.get(&(at.line - 1)).cloned().unwrap_or_default();
            let left = part.source.get(line.start..range.end.max(line.start));
            let beside = left.map_or(0, shown_width) + 1 + shown_width(mark.message);
            let message = if beside <= room || mark.message.is_empty() {
                mark.message.to_owned()
            } else {
                notes.push(format!("{}:{}: {}", part.name, at.line, mark.message));
                String::new()
            };
            labels.push(Label::new(mark.style, file, range).with_message(message));
        }
        snippet.fill_gaps(report, room);
        (snippet, labels, notes)
    }

    fn part(&mut self, report: &Report<'_>, id: FileId) -> usize {
        if let Some(index) = self.files.iter().position(|part| part.id == id) {
            return index;
        }
        self.files.push(SnippetFile {
            id,
            name: report.shown(id),
            source: String::new(),
            lines: BTreeMap::new(),
            columns: BTreeMap::new(),
        });
        self.files.len() - 1
    }

    /// Puts the line in, cut around `bytes`, and says where these then stand.
    /// A line put in before keeps its cut.
    fn line(
        &mut self,
        report: &Report<'_>,
        file: usize,
        index: usize,
        bytes: &Range<usize>,
        room: usize,
    ) -> Range<usize> {
        let part = &mut self.files[file];
        let text = &report.workspace.file(part.id).text;
        let whole = report.lines.range(part.id, index);
        let line = text.get(whole.clone()).unwrap_or_default();
        let local = bytes.start.saturating_sub(whole.start)..bytes.end.saturating_sub(whole.start);
        if let Some(range) = part.lines.get(&index) {
            // The whole line is there, or a part of it: find the same bytes
            // where they are shown, else mark the line's end.
            let shown = part.source.get(range.clone()).unwrap_or_default();
            return if shown.len() == line.len() {
                range.start + local.start..range.start + local.end
            } else {
                range.end..range.end
            };
        }
        let cut = cut(line, &local, room);
        let start = part.source.len();
        if cut.before {
            part.source.push(DOTS);
        }
        let offset = part.source.len();
        let shown = line.get(cut.from.clone()).unwrap_or_default();
        part.source.push_str(&visible(shown));
        let inner = |at: usize| {
            let at = at.clamp(cut.from.start, cut.from.end) - cut.from.start;
            offset + shown_length(shown, at)
        };
        let range = inner(local.start)..inner(local.end);
        if cut.after {
            part.source.push(DOTS);
        }
        part.lines.insert(index, start..part.source.len());
        part.source.push('\n');
        range
    }

    /// A single line between two shown ones is shown too.
    fn fill_gaps(&mut self, report: &Report<'_>, room: usize) {
        for file in 0..self.files.len() {
            let shown: Vec<_> = self.files[file].lines.keys().copied().collect();
            for pair in shown.windows(2) {
                if pair[1] - pair[0] == 2 {
                    let range = report.lines.range(self.files[file].id, pair[0] + 1);
                    self.line(report, file, pair[0] + 1, &(range.start..range.start), room);
                }
            }
        }
    }
}

/// The place, kept to its first line and to whole characters.
fn clip(report: &Report<'_>, place: Place) -> (Position, Range<usize>) {
    let text = &report.workspace.file(place.file).text;
    let start = text.floor_char_boundary(place.span.start as usize);
    let at = report.lines.position(place.file, place.span.start);
    let line = report.lines.range(place.file, at.line - 1);
    let end = text.ceil_char_boundary((place.span.end as usize).min(text.len()));
    let start = start.clamp(line.start, line.end);
    (at, start..end.clamp(start, line.end))
}

/// What is shown of a line in `room` columns: all of it, or the part around
/// `marked`.
fn cut(line: &str, marked: &Range<usize>, room: usize) -> Cut {
    if fits(line, room) {
        return Cut {
            from: 0..line.len(),
            before: false,
            after: false,
        };
    }
    let room = room.saturating_sub(2);
    let before = line.get(..marked.start).unwrap_or_default();
    let after = line.get(marked.start..).unwrap_or_default();
    let mut used = 0;
    let mut start = marked.start;
    for (index, c) in before.char_indices().rev() {
        used += char_width(c);
        if used > room / 3 {
            break;
        }
        start = index;
    }
    let mut used = shown_width(line.get(start..marked.start).unwrap_or_default());
    let mut end = marked.start;
    for (index, c) in after.char_indices() {
        used += char_width(c);
        if used > room {
            break;
        }
        end = marked.start + index + c.len_utf8();
    }
    Cut {
        from: start..end,
        before: start > 0,
        after: end < line.len(),
    }
}

fn fits(line: &str, room: usize) -> bool {
    let mut used = 0;
    line.chars().all(|c| {
        used += char_width(c);
        used <= room
    })
}

fn char_width(c: char) -> usize {
    match c {
        '\t' => TAB,
        c if Hidden::of(c).is_some() => code(c).len(),
        c => c.width().unwrap_or(1),
    }
}

pub(super) fn shown_width(text: &str) -> usize {
    text.chars().map(char_width).sum()
}

/// The text, cut at the end if it takes more than `room` columns.
pub(super) fn shortened(text: &str, room: usize) -> String {
    let cut = cut(text, &(0..0), room);
    let mut shown = text.get(cut.from).unwrap_or_default().to_owned();
    if cut.after {
        shown.push(DOTS);
    }
    shown
}

impl<'a> Files<'a> for Snippet {
    type FileId = usize;
    type Name = &'a str;
    type Source = &'a str;

    fn name(&'a self, id: usize) -> Result<&'a str, Error> {
        self.get(id).map(|part| part.name.as_str())
    }

    fn source(&'a self, id: usize) -> Result<&'a str, Error> {
        self.get(id).map(|part| part.source.as_str())
    }

    fn line_index(&'a self, id: usize, byte: usize) -> Result<usize, Error> {
        let mut lines = self.get(id)?.lines.iter();
        lines
            .find(|(_, range)| range.start <= byte && byte <= range.end)
            .map(|(index, _)| *index)
            .ok_or(Error::IndexTooLarge {
                given: byte,
                max: 0,
            })
    }

    fn line_range(&'a self, id: usize, line: usize) -> Result<Range<usize>, Error> {
        let range = self.get(id)?.lines.get(&line).cloned();
        range.ok_or(Error::LineTooLarge {
            given: line,
            max: 0,
        })
    }

    fn column_number(&'a self, id: usize, _: usize, byte: usize) -> Result<usize, Error> {
        Ok(self.get(id)?.columns.get(&byte).copied().unwrap_or(1))
    }
}

impl Snippet {
    fn get(&self, id: usize) -> Result<&SnippetFile, Error> {
        self.files.get(id).ok_or(Error::FileMissing)
    }
}
