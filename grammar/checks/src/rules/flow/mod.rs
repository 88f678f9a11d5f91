//! Flows and the pump.

pub(crate) mod above_ceiling;
pub(crate) mod drip_uncountable;
pub(crate) mod line_delay;
pub(crate) mod no_pump;
pub(crate) mod outside_pump;
pub(crate) mod step_error;
pub(crate) mod stuck_adjust;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &above_ceiling::RULE,
    &drip_uncountable::RULE,
    &line_delay::RULE,
    &no_pump::RULE,
    &outside_pump::RULE,
    &step_error::RULE,
    &stuck_adjust::RULE,
];
