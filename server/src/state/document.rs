//! A document that is open in the editor.

use gutta_notation::Span;
use ropey::Rope;
use tower_lsp::lsp_types::{Range, SemanticToken, TextDocumentContentChangeEvent};

use super::RootId;
use crate::text::{Encoding, Lines};

/// An open document.
#[derive(Clone, Debug)]
pub(crate) struct Document {
    pub(crate) rope: Rope,
    pub(crate) version: i32,
    /// The repository that holds it, and its path there; none where the
    /// house leaves it out.
    pub(crate) home: Option<(RootId, smol_str::SmolStr)>,
    /// The tokens last told, by the number of that answer: what changed since
    /// is told from them.
    pub(crate) tokens: Option<(u64, Vec<SemanticToken>)>,
}

/// A replacement, in bytes of the text before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Replacement {
    pub(crate) span: Span,
    pub(crate) with: String,
}

impl Document {
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
        let span = lines.span(range);
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
    use ropey::Rope;
    use tower_lsp::lsp_types::TextDocumentContentChangeEvent;

    #[test]
    fn a_whole_text_replaces_what_differs() {
        let texts = [
            "", "abc", "abXc", "é", "è", "aéc", "aèc", "abab", "ab", "𝕏𝕐", "𝕐𝕏",
        ];
        for before in texts {
            for after in texts {
                let mut document = Document {
                    rope: Rope::from_str(before),
                    version: 0,
                    home: None,
                    tokens: None,
                };
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
