//! Unit sanity.

pub(crate) mod missing;
pub(crate) mod unknown;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&missing::RULE, &unknown::RULE];
