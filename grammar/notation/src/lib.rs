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
