//! The rules, one file each, with their pages.
//!
//! A rule is a file in the folder of its family (`rules/`), beside its page; its
//! family's `mod.rs` lists it. Reporting is the rule's; severities, waivers and
//! specimens are the runner's.

mod beyond;
mod checked;
mod concerned;
mod context;
mod finding;
pub mod fixes;
mod house;
mod lines;
pub mod markdown;
mod page;
mod problems;
mod registry;
mod rule;
mod rules;
mod runner;
mod story;
pub mod telling;
mod unread;
mod uses;
pub mod words;

#[cfg(test)]
mod harness;
#[cfg(test)]
mod offers;
#[cfg(test)]
mod pages;

pub use checked::Checked;
pub use concerned::{Before, concerned};
pub use context::{MarkContext, OrderContext, StanzaContext};
pub use finding::{DoseChange, Extent, Finding, Fix, Related, Severity, TextEdit};
pub use house::{house_faults, no_rule};
pub use page::{Page, Section};
pub use registry::{rule, rules};
pub use rule::{Check, Rule};
pub use rules::volume::overfilled::impossible_bags;
pub use runner::{check, check_stanza};
pub use story::{Story, causes, stories};
pub use unread::{Unread, unread};
pub use uses::leans_on;

/// Whether a finding only explains another: which slip it likely is.
#[must_use]
pub fn explains(finding: &Finding) -> bool {
    rules::limit::slip::explains(finding).is_some()
}

/// What a check of the whole workspace, or of a part of it, is asked.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// The day on which `review by` and `until` are judged; none: they are
    /// not judged, and that is said.
    pub today: Option<gutta_notation::ast::Date>,
}
