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
pub(crate) mod moves;
pub(crate) mod names;
pub(crate) mod outline;
pub(crate) mod overview;
pub(crate) mod phrases;
pub(crate) mod selection;
pub(crate) mod signature;
pub(crate) mod tokens;
mod worked;

pub(crate) use derived::weight;

/// Ends whatever shows a derived number.
pub(crate) const CAUTION: &str = "A checking aid, not a medical device: local policy, the \
     manufacturer's information and licensed practice decide; independent double check.";
