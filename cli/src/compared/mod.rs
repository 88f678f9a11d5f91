//! What changed clinically, as people read it: one file a form.

mod markdown;
mod text;

pub(crate) use markdown::markdown;
pub(crate) use text::text;
