//! How it is written: what reading marked, in words.

pub(crate) mod bare_point;
pub(crate) mod decimal_comma;
pub(crate) mod look_alike;
pub(crate) mod no_space;
pub(crate) mod no_value;
pub(crate) mod odd_character;
pub(crate) mod phrase;
pub(crate) mod pounds;
pub(crate) mod printed;
pub(crate) mod ratio_strength;
pub(crate) mod risky_name;
pub(crate) mod risky_unit;
pub(crate) mod thousands;
pub(crate) mod title_differs;
pub(crate) mod trailing_zero;
pub(crate) mod twice;
pub(crate) mod unreadable;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &bare_point::RULE,
    &decimal_comma::RULE,
    &look_alike::RULE,
    &no_space::RULE,
    &no_value::RULE,
    &odd_character::RULE,
    &phrase::RULE,
    &pounds::RULE,
    &printed::RULE,
    &ratio_strength::RULE,
    &risky_name::RULE,
    &risky_unit::RULE,
    &thousands::RULE,
    &title_differs::RULE,
    &trailing_zero::RULE,
    &twice::RULE,
    &unreadable::RULE,
];
