//! What an order must say of itself.

pub(crate) mod no_route;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&no_route::RULE];
