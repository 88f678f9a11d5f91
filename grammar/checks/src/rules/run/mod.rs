//! What happens when.

pub(crate) mod cap_above_never;
mod caps;
pub(crate) mod disagrees;
pub(crate) mod flush_pushes;
pub(crate) mod keep_open_drug;
pub(crate) mod lid_always;
pub(crate) mod no_end;
pub(crate) mod none;
pub(crate) mod off_step;
pub(crate) mod overlap;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &cap_above_never::RULE,
    &disagrees::RULE,
    &flush_pushes::RULE,
    &keep_open_drug::RULE,
    &lid_always::RULE,
    &no_end::RULE,
    &none::RULE,
    &off_step::RULE,
    &overlap::RULE,
];
