//! Preparing it.

pub(crate) mod by_weight;
mod claims;
pub(crate) mod contradict;
pub(crate) mod counted_as;
pub(crate) mod hang_time;
pub(crate) mod hard_to_draw;
pub(crate) mod hypotonic;
pub(crate) mod in_line;
pub(crate) mod not_with;
pub(crate) mod osmolarity;
pub(crate) mod uncounted;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &by_weight::RULE,
    &contradict::RULE,
    &counted_as::RULE,
    &hang_time::RULE,
    &hard_to_draw::RULE,
    &hypotonic::RULE,
    &in_line::RULE,
    &not_with::RULE,
    &osmolarity::RULE,
    &uncounted::RULE,
];
