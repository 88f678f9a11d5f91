//! A document that is open in the editor.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use gutta_notation::Span;
use ropey::Rope;
use smol_str::SmolStr;
use tower_lsp::lsp_types::{Range, SemanticToken, TextDocumentContentChangeEvent, Url};

use super::{Root, RootId};
use crate::disk::{self, SkipReason};
use crate::text::{Encoding, Lines};

/// An open document.
#[derive(Debug)]
pub(crate) struct Document {
    pub(crate) rope: Rope,
    pub(crate) version: i32,
    /// Where it stands on the disk. One file has many URLs, so that only this
    /// says which is which.
    pub(crate) path: Option<PathBuf>,
    /// The repository that it belongs to, and its path there.
    pub(crate) home: Option<(RootId, SmolStr)>,
    /// Why the repository would pass it over, were it not open.
    pub(super) passed: Option<SkipReason>,
    /// The tokens last told, by the number of that answer: what changed since
    /// is told from them.
    pub(crate) tokens: Mutex<Option<(u64, Vec<SemanticToken>)>>,
}

/// A replacement, in bytes of the text before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Replacement {
    pub(crate) span: Span,
    pub(crate) with: String,
}

impl Document {
    pub(crate) fn new(url: &Url, version: i32, text: &str) -> Self {
        Self {
            rope: Rope::from_str(text),
            version,
            path: disk::path(url),
            home: None,
            passed: None,
            tokens: Mutex::default(),
        }
    }

    /// Whether it stands at the path.
    pub(super) fn is_at(&self, path: &Path) -> bool {
        self.path.as_deref() == Some(path)
    }

    /// The document's path in a repository that holds it, or is to.
    pub(super) fn name_in(&self, id: RootId, root: &Root) -> Option<SmolStr> {
        if let Some((home, name)) = &self.home
            && *home == id
        {
            let out = self.path.as_deref().is_some_and(|path| root.excludes(path));
            return (!out || root.workspace.file_at(name).is_some()).then(|| name.clone());
        }
        let name = disk::relative(root.folder.as_deref()?, self.path.as_deref()?)?;
        root.workspace.file_at(&name).is_some().then_some(name)
    }

    /// Takes in a change as the client sends it, and says what it replaced:
    /// of a whole new text only the stretch that differs.
    pub(crate) fn change(
        &mut self,
        change: TextDocumentContentChangeEvent,
        encoding: Encoding,
    ) -> Replacement {
        let replacement = match change.range {
            Some(range) => self.ranged(range, change.text, encoding),
            None => self.whole(&change.text),
        };
        let Span { start, end } = replacement.span;
        let chars = self.rope.byte_to_char(start as usize)..self.rope.byte_to_char(end as usize);
        let at = chars.start;
        self.rope.remove(chars);
        self.rope.insert(at, &replacement.with);
        replacement
    }

    fn ranged(&self, range: Range, with: String, encoding: Encoding) -> Replacement {
        let lines = Lines {
            rope: &self.rope,
            encoding,
        };
        // Whichever end comes first.
        let (start, end) = (range.start.min(range.end), range.start.max(range.end));
        let span = lines.span(Range { start, end });
        Replacement { span, with }
    }

    fn whole(&self, text: &str) -> Replacement {
        let before = self.rope.to_string();
        let same = |(a, b): &(u8, u8)| a == b;
        let head = before.bytes().zip(text.bytes()).take_while(same).count();
        let head = before.floor_char_boundary(head);
        let rest = before[head..].bytes().rev().zip(text[head..].bytes().rev());
        let tail = rest.take_while(same).count();
        let start = before.len() - tail;
        let end = before.ceil_char_boundary(start);
        let kept = before.len() - end;
        Replacement {
            span: Span::new(count(head), count(end)),
            with: text[head..text.len() - kept].to_owned(),
        }
    }
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::Document;
    use crate::text::Encoding;
    use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

    #[test]
    fn a_whole_text_replaces_what_differs() {
        let texts = [
            "", "abc", "abXc", "é", "è", "aéc", "aèc", "abab", "ab", "𝕏𝕐", "𝕐𝕏",
        ];
        let url = Url::parse("untitled:one").unwrap();
        for before in texts {
            for after in texts {
                let mut document = Document::new(&url, 0, before);
                let change = TextDocumentContentChangeEvent {
                    range: None,
                    range_length: None,
                    text: after.to_owned(),
                };
                let done = document.change(change, Encoding::Utf16);
                assert_eq!(document.rope.to_string(), after);
                let mut held = before.to_owned();
                held.replace_range(done.span.start as usize..done.span.end as usize, &done.with);
                assert_eq!(held, after, "{before:?} → {after:?}");
            }
        }
    }
}
