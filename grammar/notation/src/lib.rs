//! The notation: text to typed stanzas with spans, and back.
//!
//! Reading never fails: what cannot be read becomes a [`Mark`] in the stanza
//! that holds it, and [`Fact::Unreadable`] in its place.

// The grammar's generated code names it.
extern crate alloc;

pub mod ast;
#[doc(hidden)]
pub mod bench;
mod breaks;
pub mod first_words;
mod format;
mod hidden;
mod in_style;
pub mod lines;
mod mark;
mod next;
mod parse;
mod read;
mod scan;
mod span;
mod stanzas;
mod twin;
pub mod words;

/// What a house writes like is told by how its numbers and units are printed.
pub use gutta_quantity::{DigitGroups, Micro, Style};

pub use ast::{Fact, File, Line, Placed, Stanza, Written, WrittenUnit};
pub use breaks::{breaks, line_number};
pub use format::{format, format_guarded, says_the_same};
pub use hidden::{Hidden, code, hidden, shown_length, visible, visible_line};
pub use in_style::in_style;
pub use mark::{Edit, Mark, MarkKind, NoValue, Phrase, Unreadable, Why};
pub use next::{Next, next};
pub use read::{
    InText, MOST_LINES, RISKY_NAMES, read, read_quantity, read_stanza, read_text, settle,
};
pub use scan::{Starts, Touched, stanza_starts};
pub use span::{Span, Spanned};
pub use stanzas::StanzaKind;
pub use twin::latin_twin;
