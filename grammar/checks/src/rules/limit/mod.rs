//! Limit breaches.

pub(crate) mod adjust_escapes;
#[cfg(test)]
mod apart;
pub(crate) mod as_load;
mod breach;
pub(crate) mod contradict;
pub(crate) mod gap;
#[cfg(test)]
mod givings;
pub(crate) mod in_interval;
mod lost_lid;
pub(crate) mod never;
pub(crate) mod none;
pub(crate) mod not_checked;
pub(crate) mod not_of_substance;
pub(crate) mod one_sided;
pub(crate) mod patient;
pub(crate) mod route;
pub(crate) mod slip;
pub(crate) mod substance;
pub(crate) mod unanswered;
pub(crate) mod unusual;
#[cfg(test)]
mod which_holds;

use crate::Rule;

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[
    &adjust_escapes::RULE,
    &as_load::RULE,
    &contradict::RULE,
    &gap::RULE,
    &in_interval::RULE,
    &never::RULE,
    &none::RULE,
    &not_checked::RULE,
    &not_of_substance::RULE,
    &one_sided::RULE,
    &patient::RULE,
    &route::RULE,
    &slip::RULE,
    &substance::RULE,
    &unanswered::RULE,
    &unusual::RULE,
];
