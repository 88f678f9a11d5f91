//! Unit sanity.

pub(crate) mod missing;
pub(crate) mod needs_drops;
pub(crate) mod needs_strength;
pub(crate) mod needs_weight;
pub(crate) mod no_equivalence;
pub(crate) mod not_as_dosed;
pub(crate) mod unknown;
pub(crate) mod wrong_kind;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &missing::RULE,
    &needs_drops::RULE,
    &needs_strength::RULE,
    &needs_weight::RULE,
    &no_equivalence::RULE,
    &not_as_dosed::RULE,
    &unknown::RULE,
    &wrong_kind::RULE,
];
