//! The files of a protocol repository, read, with the names each can see.

use std::sync::Arc;

use gutta_notation::{File, Span, Stanza, StanzaKind};
use smol_str::SmolStr;

use crate::House;

/// A file of the workspace, by its place in [`Workspace::files`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

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
    /// The text. Broken UTF-8 was replaced, and is in `faults`.
    pub text: Arc<str>,
    /// The stanzas.
    pub ast: File,
    /// What kept the text from being read as it stands.
    pub faults: Vec<FileFault>,
}

/// What is wrong with a file as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FileFault {
    /// The bytes at this stretch are not UTF-8.
    NotUtf8(Span),
    /// The file holds NUL bytes: it is no text.
    Binary,
    /// The file is larger than the tool reads.
    TooLarge {
        /// Its size in bytes.
        bytes: u64,
    },
}

/// All files, the house's settings, and what each file can see.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    /// In the order of their paths.
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

    /// The stanza.
    #[must_use]
    pub fn stanza(&self, id: StanzaId) -> &Stanza {
        &self.file(id.file).ast.stanzas[id.index as usize].stanza
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

    /// Every stanza of the kind, in the order of files and text.
    pub fn stanzas_of(&self, kind: StanzaKind) -> impl Iterator<Item = StanzaId> + '_ {
        self.files
            .iter()
            .enumerate()
            .flat_map(move |(file, source)| {
                source
                    .ast
                    .stanzas
                    .iter()
                    .enumerate()
                    .filter(move |(_, placed)| placed.stanza.kind == kind)
                    .map(move |(index, _)| StanzaId {
                        file: FileId(u32::try_from(file).unwrap_or(u32::MAX)),
                        index: u32::try_from(index).unwrap_or(u32::MAX),
                    })
            })
    }
}
