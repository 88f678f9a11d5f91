//! One file of a workspace, as it was read, and where things stand in it.

mod lines;
mod read;

use gutta_notation::{File, Span, Starts};
use smol_str::SmolStr;

pub(crate) use lines::Lines;
pub(crate) use read::read_file;
pub use read::{Content, MAX_FILE_BYTES};

/// A file of the workspace, by its place in [`Workspace::files`](crate::Workspace::files).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

impl FileId {
    /// The file at this place of [`Workspace::files`](crate::Workspace::files).
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
    pub(crate) starts: Option<Starts>,
    /// Where its lines start, once that was asked for.
    pub(crate) lines: Lines,
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
