//! Each answers one question, in offsets and plain data.

pub(crate) mod actions;
pub(crate) mod calls;
pub(crate) mod completion;
mod derived;
mod examples;
pub(crate) mod folding;
#[cfg(test)]
pub(crate) mod harness;
pub(crate) mod hints;
pub(crate) mod hover;
pub(crate) mod layout;
pub(crate) mod leaves;
pub(crate) mod lenses;
mod limits;
pub(crate) mod moves;
pub(crate) mod names;
pub(crate) mod outline;
pub(crate) mod overview;
pub(crate) mod phrases;
pub(crate) mod plain;
#[cfg(test)]
mod refusals;
pub(crate) mod selection;
pub(crate) mod signature;
mod steps;
pub(crate) mod tokens;
mod worked;

/// Stands where nothing is derived, since it would take too long.
pub(crate) const TOO_LONG: &str = "Nothing is calculated here, because it would take too long: divide it, for example an order of very many phases or runs.";

/// The same, where there is little room.
const TOO_LONG_SHORT: &str = "not calculated: it takes too long";

pub(crate) use gutta_protocol::CAUTION;
