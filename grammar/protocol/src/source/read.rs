//! From bytes to a file of typed stanzas.

use gutta_notation::{File, Span, Style};
use smol_str::SmolStr;

use super::{FileFault, Lines, SourceFile};

/// The largest file that is read, in bytes (64 MiB): far beyond any protocol,
/// and well inside the 32 bits of a span.
pub const MAX_FILE_BYTES: u64 = 64 * 1024 * 1024;

/// What a file holds, as it comes from a disk or an editor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// Bytes, not known to be text.
    Bytes(Vec<u8>),
    /// Text.
    Text(String),
    /// Too large to have been read, with its size in bytes.
    TooLarge(u64),
    /// It is there and could not be read, with the reason.
    Unreadable(String),
}

impl From<Vec<u8>> for Content {
    fn from(bytes: Vec<u8>) -> Self {
        Self::Bytes(bytes)
    }
}

impl From<String> for Content {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Content {
    fn from(text: &str) -> Self {
        Self::Text(text.into())
    }
}

/// Reads one file. What is broken becomes a fault, never an error.
pub(crate) fn read_file(path: SmolStr, content: Content, style: Style) -> SourceFile {
    let mut faults = Vec::new();
    let text = match content {
        Content::TooLarge(bytes) => {
            faults.push(FileFault::TooLarge { bytes });
            None
        }
        Content::Unreadable(why) => {
            faults.push(FileFault::Unreadable { why });
            None
        }
        Content::Bytes(bytes) => {
            bounded(bytes.len(), &mut faults).then(|| decode(bytes, &mut faults))
        }
        Content::Text(text) => bounded(text.len(), &mut faults).then_some(text),
    };
    let text = text.filter(|text| {
        let binary = memchr::memchr(0, text.as_bytes()).is_some();
        if binary {
            faults.push(FileFault::Binary);
        }
        !binary
    });
    let ast = text
        .as_deref()
        .map_or_else(File::default, |text| gutta_notation::read(text, style));
    SourceFile {
        path,
        text: text.unwrap_or_default(),
        ast,
        faults,
        unjudged: None,
        starts: None,
        lines: Lines::default(),
    }
}

fn bounded(len: usize, faults: &mut Vec<FileFault>) -> bool {
    let bytes = u64::try_from(len).unwrap_or(u64::MAX);
    let fits = bytes <= MAX_FILE_BYTES;
    if !fits {
        faults.push(FileFault::TooLarge { bytes });
    }
    fits
}

/// The text of the bytes; U+FFFD stands for each stretch that is not UTF-8.
fn decode(bytes: Vec<u8>, faults: &mut Vec<FileFault>) -> String {
    let bytes = match String::from_utf8(bytes) {
        Ok(text) => return text,
        Err(broken) => broken.into_bytes(),
    };
    let mut text = String::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        text.push_str(chunk.valid());
        if !chunk.invalid().is_empty() {
            let start = text.len();
            text.push(char::REPLACEMENT_CHARACTER);
            faults.push(FileFault::NotUtf8(Span::new(
                u32::try_from(start).unwrap_or(u32::MAX),
                u32::try_from(text.len()).unwrap_or(u32::MAX),
            )));
        }
    }
    text
}
