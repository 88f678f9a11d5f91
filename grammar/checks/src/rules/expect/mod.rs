//! Worked examples, and what specimens expect.

mod as_written;
pub(crate) mod coarse;
pub(crate) mod differs;
pub(crate) mod none;
pub(crate) mod not_found;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&coarse::RULE, &differs::RULE, &none::RULE, &not_found::RULE];
