//! The families of rules: a folder each, a file a rule, its page beside it.

pub(crate) mod check;
pub(crate) mod expect;
mod flow;
pub(crate) mod limit;
mod mix;
mod name;
mod order;
mod review;
mod run;
mod set;
pub(crate) mod text;
pub(crate) mod unit;
mod volume;
pub(crate) mod waive;

use crate::Rule;

/// The families, in the order of the reference: each lists its own rules.
pub(crate) const FAMILIES: &[&[&Rule]] = &[
    text::RULES,
    name::RULES,
    unit::RULES,
    order::RULES,
    volume::RULES,
    run::RULES,
    flow::RULES,
    limit::RULES,
    mix::RULES,
    set::RULES,
    expect::RULES,
    review::RULES,
    waive::RULES,
    check::RULES,
];
