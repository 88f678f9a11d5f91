//! Worked examples, and what specimens expect.

pub(crate) mod not_found;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&not_found::RULE];
