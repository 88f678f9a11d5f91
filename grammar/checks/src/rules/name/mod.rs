//! What refers to what.

pub(crate) mod twice;
pub(crate) mod unknown;
pub(crate) mod unused;
pub(crate) mod use_outside;
pub(crate) mod use_unchecked;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &twice::RULE,
    &unknown::RULE,
    &unused::RULE,
    &use_outside::RULE,
    &use_unchecked::RULE,
];
