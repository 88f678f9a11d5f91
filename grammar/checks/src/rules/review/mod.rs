//! Upkeep.

pub(crate) mod none;
pub(crate) mod overdue;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&none::RULE, &overdue::RULE];
