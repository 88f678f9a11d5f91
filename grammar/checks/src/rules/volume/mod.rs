//! Volumes.

pub(crate) mod above_pump;
pub(crate) mod fluid_load;
pub(crate) mod later_bags;
pub(crate) mod left_in_line;
pub(crate) mod left_over;
pub(crate) mod missing;
pub(crate) mod not_enough;
pub(crate) mod odd_bag;
pub(crate) mod runs_dry;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &above_pump::RULE,
    &fluid_load::RULE,
    &later_bags::RULE,
    &left_in_line::RULE,
    &left_over::RULE,
    &missing::RULE,
    &not_enough::RULE,
    &odd_bag::RULE,
    &runs_dry::RULE,
];
