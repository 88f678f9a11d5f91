//! What changed clinically between two states of a repository: not which
//! lines, but which derived values, limits, waivers and worked examples.
//!
//! Two things are set side by side for each stanza. What it *states* (who it
//! is for, how the bag is prepared, every limit and permission, the words for
//! people) is brought to one form, so that layout, comments, another order of
//! lines or another spelling of a quantity leave it equal. What *follows* from
//! an order is compared as exact functions over all patients that both states
//! cover. Neither is sampled where it could be decided.

mod house;
mod in_force;
mod items;
mod kept;
mod limits;
mod lines;
mod looked;
mod order;
mod parts;
mod phases;
mod reference;
mod side;
mod sort;
mod statement;
mod stepped;
mod stretch;
mod subjects;
mod telling;
#[cfg(test)]
mod tests;
mod unread;
mod uses;
mod values;

use gutta_notation::StanzaKind;
use gutta_protocol::Workspace;
use gutta_quantity::{Exact, Unit};
use smol_str::SmolStr;

/// All that changed, the gravest first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// What changed its meaning.
    pub subjects: Vec<Subject>,
    /// Orders before.
    pub orders_before: usize,
    /// Orders after.
    pub orders_after: usize,
    /// Orders that mean what they meant.
    pub orders_same: usize,
    /// What could not be set side by side, in words.
    pub not_compared: Vec<String>,
    /// Specimens that say something else: no order for a patient, so not
    /// compared.
    pub specimens: Vec<String>,
    /// A relative change of more than this is marked.
    pub threshold: Exact,
}

impl Comparison {
    /// Whether everything was compared, and means what it meant.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.subjects.is_empty() && self.not_compared.is_empty()
    }
}

/// A stanza, or the house's settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Subject {
    /// Its kind; `None`: the house's settings.
    pub kind: Option<StanzaKind>,
    /// Its name; for the settings that of their file.
    pub name: SmolStr,
    /// Its title.
    pub title: Option<SmolStr>,
    /// Where it stood.
    pub before: Option<Site>,
    /// Where it stands.
    pub after: Option<Site>,
    /// What became of it.
    pub fate: Fate,
    /// What changed, the gravest first.
    pub changes: Vec<Change>,
    /// Which of an order's chief values are as they were, where others are not:
    /// `strength`, `dose`, `flow`.
    pub kept: Vec<&'static str>,
    /// Orders that lean on it, by name.
    pub used_by: Vec<SmolStr>,
    /// Whether it, or a change of it, is grave.
    pub marked: bool,
}

/// Where a stanza stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// The file, from the root.
    pub file: SmolStr,
    /// The line of the header, from 1.
    pub line: usize,
}

/// What became of a subject.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It has another name, and means the same.
    Renamed {
        /// The name before.
        from: SmolStr,
    },
    /// It means something else.
    Changed,
}

/// One change of a subject.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// What changed: `flow`, `never dose above, by peripheral vein`.
    pub what: String,
    /// In which phase; `None`: of the whole, or there are no phases.
    pub phase: Option<SmolStr>,
    /// How.
    pub turn: Turn,
    /// What that does to what is allowed.
    pub effect: Effect,
    /// Whether it follows from other lines, and no line states it.
    pub derived: bool,
    /// The values, at the ends of the range of patients and where the ratio is
    /// greatest; one row where no patient matters.
    pub rows: Vec<Row>,
    /// The greatest ratio; `None` where there is none to tell.
    pub greatest: Option<Greatest>,
    /// Whether it is grave: by more than the threshold, or not to be measured.
    pub marked: bool,
}

/// How a statement or value changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Not there before.
    Added,
    /// There no longer.
    Removed,
    /// Another.
    Changed,
}

/// What a change does to what is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// More is allowed.
    Widened,
    /// Less is allowed.
    Narrowed,
    /// Neither, or it cannot be told.
    Neither,
}

/// Before and after, for one patient or for all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// For whom: `70 kg`.
    pub at: Option<String>,
    /// Before.
    pub before: Option<ValueText>,
    /// After.
    pub after: Option<ValueText>,
    /// After over before.
    pub ratio: Option<Exact>,
}

/// A value as people read it, and exactly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueText {
    /// As people read it.
    pub text: String,
    /// The number and its unit; `None` where it is words.
    pub number: Option<(Exact, Unit)>,
}

/// The greatest ratio of a value to what it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Greatest {
    /// After over before.
    pub ratio: Exact,
    /// For whom; `None`: it is the same for every patient.
    pub at: Option<String>,
    /// Whether it is the greatest for certain; else it may be greater still.
    pub certain: bool,
}

/// Compares what two states of a repository mean.
#[must_use]
pub fn compare(before: &Workspace, after: &Workspace) -> Comparison {
    subjects::compare(before, after)
}
