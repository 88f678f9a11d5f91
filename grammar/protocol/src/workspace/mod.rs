//! The files of a protocol repository, read, with the names each can see.

mod change;
mod edit;
mod lines;
mod read;

use lines::Lines;

pub use edit::Change;
pub use read::{Content, MAX_FILE_BYTES};

use gutta_notation::{File, Span, Stanza, StanzaKind, Starts};
use smol_str::SmolStr;

use crate::{House, trace};

/// A file of the workspace, by its place in [`Workspace::files`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

impl FileId {
    /// The file at this place of [`Workspace::files`].
    #[must_use]
    pub fn at(index: usize) -> Self {
        Self(u32::try_from(index).unwrap_or(u32::MAX))
    }
}

/// A stanza, by its file and its place there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct StanzaId {
    /// Its file.
    pub file: FileId,
    /// Its place among the file's stanzas.
    pub index: u32,
}

/// A stretch of a file's text; spans here count from the file's start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// The stretch, in bytes from the file's start.
    pub span: Span,
}

/// A file: its path, its text, and what was read from it.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// Relative to the workspace root, with forward slashes.
    pub path: SmolStr,
    /// The text. Broken UTF-8 was replaced, and is in `faults`; a binary or
    /// too large file has none.
    pub text: String,
    /// The stanzas.
    pub ast: File,
    /// What kept the text from being read as it stands.
    pub faults: Vec<FileFault>,
    /// Why no check of the workspace judges the file, in words, where others
    /// only lean on it: `excluded by gutta.toml`.
    pub unjudged: Option<SmolStr>,
    /// Where its stanzas start, once it was edited.
    starts: Option<Starts>,
    /// Where its lines start, once that was asked for.
    lines: Lines,
}

/// What is wrong with a file as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFault {
    /// The bytes at this stretch are not UTF-8; it is counted in the text in
    /// which U+FFFD stands for them.
    NotUtf8(Span),
    /// The file holds NUL bytes: it is no text.
    Binary,
    /// The file is larger than the tool reads.
    TooLarge {
        /// Its size in bytes.
        bytes: u64,
    },
    /// The file is there and could not be read.
    Unreadable {
        /// As the system says it.
        why: String,
    },
}

impl SourceFile {
    /// Whether the file was read at all; broken UTF-8 alone does not keep it
    /// from being read.
    #[must_use]
    pub fn is_read(&self) -> bool {
        self.faults
            .iter()
            .all(|fault| matches!(fault, FileFault::NotUtf8(_)))
    }
}

/// All files, the house's settings, and what each file can see.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    /// In the order of their paths. Changed through
    /// [`replace_file`](Self::replace_file) and
    /// [`remove_file`](Self::remove_file) alone, which keep the names right.
    pub files: Vec<SourceFile>,
    /// The house's settings.
    pub house: House,
    pub(crate) names: crate::names::Names,
}

impl Workspace {
    /// The file.
    #[must_use]
    pub fn file(&self, id: FileId) -> &SourceFile {
        &self.files[id.0 as usize]
    }

    /// The file at `path` (relative to the root, forward slashes).
    #[must_use]
    pub fn file_at(&self, path: &str) -> Option<FileId> {
        self.files
            .binary_search_by(|file| file.path.as_str().cmp(path))
            .ok()
            .map(FileId::at)
    }

    /// Every file, in the order of paths.
    pub fn file_ids(&self) -> impl Iterator<Item = FileId> + use<> {
        (0..self.files.len()).map(FileId::at)
    }

    /// The stanza.
    #[must_use]
    pub fn stanza(&self, id: StanzaId) -> &Stanza {
        let stanza = &self.file(id.file).ast.stanzas[id.index as usize].stanza;
        trace::note_stanza(id, || stanza.name.as_ref().map(|name| name.value.clone()));
        stanza
    }

    /// The whole text of the stanza, as its spans count it.
    #[must_use]
    pub fn stanza_text(&self, id: StanzaId) -> &str {
        let file = self.file(id.file);
        let placed = &file.ast.stanzas[id.index as usize];
        Span::new(0, placed.stanza.len)
            .shifted(placed.start)
            .text(&file.text)
    }

    /// Where in its file a span of the stanza stands.
    #[must_use]
    pub fn place(&self, id: StanzaId, span: Span) -> Place {
        let start = self.file(id.file).ast.stanzas[id.index as usize].start;
        Place {
            file: id.file,
            span: span.shifted(start),
        }
    }

    /// The text at a place.
    #[must_use]
    pub fn text_at(&self, place: Place) -> &str {
        place.span.text(&self.file(place.file).text)
    }

    /// What stands at a place, on one line and with single blanks.
    #[must_use]
    pub fn written(&self, place: Place) -> String {
        let words: Vec<_> = self.text_at(place).split_whitespace().collect();
        words.join(" ")
    }

    /// The line in its file, from 1, on which a span of a stanza begins.
    #[must_use]
    pub fn line_number(&self, id: StanzaId, span: Span) -> usize {
        self.line_of(self.place(id, span))
    }

    /// The line in its file, from 1, on which a place begins.
    #[must_use]
    pub fn line_of(&self, place: Place) -> usize {
        self.file(place.file)
            .lines
            .line_at(place.span.start, &self.file(place.file).text)
    }

    /// The stanza that holds the byte at `offset`, or the last one where it
    /// stands at the text's end.
    #[must_use]
    pub fn stanza_at(&self, file: FileId, offset: u32) -> Option<StanzaId> {
        let stanzas = &self.file(file).ast.stanzas;
        let past = stanzas.partition_point(|placed| placed.start <= offset);
        let index = u32::try_from(past.checked_sub(1)?).ok()?;
        Some(StanzaId { file, index })
    }

    /// Every stanza of a file, in the order of its text.
    pub fn stanzas_in(&self, file: FileId) -> impl Iterator<Item = StanzaId> + use<> {
        let count = self.file(file).ast.stanzas.len();
        (0..u32::try_from(count).unwrap_or(u32::MAX)).map(move |index| StanzaId { file, index })
    }

    /// Every stanza of the kind, in the order of files and text.
    pub fn stanzas_of(&self, kind: StanzaKind) -> impl Iterator<Item = StanzaId> + '_ {
        self.file_ids()
            .flat_map(|file| self.stanzas_in(file))
            .filter(move |id| self.stanza(*id).kind == kind)
    }
}

#[cfg(test)]
mod tests;
