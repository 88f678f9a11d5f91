//! The rules, one file each, with their pages.
//!
//! A rule is a file in the folder of its family (`rules/`), beside its page; its
//! family's `mod.rs` lists it. Reporting is the rule's; severities, waivers and
//! specimens are the runner's.

mod as_if;
mod beyond;
mod checked;
mod concerned;
mod context;
mod finding;
pub mod fixes;
mod flows;
mod house;
mod lines;
pub mod markdown;
mod options;
mod outcome;
mod overfilled;
mod page;
mod problems;
mod registry;
mod reporting;
mod roles;
mod rules;
mod runner;
mod slips;
mod slots;
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
pub use finding::{Check, DoseChange, Excess, Finding, Fix, Related, Rule, TextEdit};
pub use gutta_protocol::Severity;
pub use house::{house_faults, no_rule};
pub use options::Options;
pub use overfilled::impossible_bags;
pub use page::{Page, Section};
pub use registry::{rule, rules};
pub use runner::{check, check_stanza};
pub use slips::explains;
pub use story::{Story, causes, stories};
pub use unread::{Unread, unread};
pub use uses::leans_on;
