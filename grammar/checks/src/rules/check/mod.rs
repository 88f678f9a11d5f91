//! How far the check itself went.

pub(crate) mod cut_short;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&cut_short::RULE];
