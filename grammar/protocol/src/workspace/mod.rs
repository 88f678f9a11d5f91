//! The files of a protocol repository, read, with the names each can see.

mod called;
mod change;
mod edit;
mod names;

pub use edit::Change;
pub use names::Resolved;

use gutta_notation::{Span, Stanza, StanzaKind};

use crate::source::{FileId, Place, SourceFile, StanzaId};
use crate::{House, trace};

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
