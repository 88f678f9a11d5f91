//! What changed clinically, told: the words for people, the document for
//! programs. Whoever shows it lays it out.

mod follows;
mod json;
mod words;

pub use follows::Follows;
pub use json::Document;
pub use words::{Compared, fate, instance, kind, leaned_on, place, what};
