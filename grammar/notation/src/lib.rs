//! The notation: text to typed stanzas with spans, and back.
//!
//! Reading never fails: what cannot be read becomes a [`Mark`] in the stanza
//! that holds it, and [`Fact::Unreadable`] in its place.

pub mod ast;
mod mark;
mod span;
mod style;

pub use ast::{Fact, File, Line, Placed, Stanza, StanzaKind, Written, WrittenUnit};
pub use mark::{Edit, Mark, MarkKind, NoValue, Phrase, Unreadable, Why};
pub use span::{Span, Spanned};
pub use style::{DigitGroups, Micro, Style};

/// Reads a text. Never fails; the stanzas hold every byte.
///
/// Until the grammar is in place nothing is read: the whole text is one
/// stanza that is marked unreadable.
#[must_use]
pub fn read(text: &str, style: Style) -> File {
    let _ = style;
    let len = u32::try_from(text.len()).unwrap_or(u32::MAX);
    let unreadable = Unreadable {
        expected: Vec::new(),
        why: Some(Why::NotText),
    };
    let stanza = Stanza {
        kind: StanzaKind::Unknown,
        header: Span::new(0, len),
        name: None,
        title: None,
        lines: Vec::new(),
        marks: vec![Mark {
            kind: MarkKind::Unreadable(Box::new(unreadable)),
            span: Span::new(0, len),
            fixes: Vec::new(),
        }],
        len,
    };
    File {
        stanzas: vec![Placed {
            start: 0,
            stanza: std::sync::Arc::new(stanza),
        }],
    }
}
