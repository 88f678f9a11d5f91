//! Each answers one question, in offsets and plain data.

pub(crate) mod calls;
pub(crate) mod folding;
#[cfg(test)]
pub(crate) mod harness;
pub(crate) mod layout;
pub(crate) mod leaves;
pub(crate) mod moves;
pub(crate) mod names;
pub(crate) mod outline;
pub(crate) mod phrases;
pub(crate) mod selection;
pub(crate) mod tokens;
