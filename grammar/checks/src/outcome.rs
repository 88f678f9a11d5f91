//! What the run itself comes to, for the rules that speak last.

use gutta_notation::Line;
use gutta_notation::ast::{Date, LimitMeasure, Name};

use crate::{Finding, Rule};

/// What is to be told of a stanza beside what its rules found.
pub(crate) enum Outcome<'a> {
    /// Deriving its values would take too long.
    NothingDerived,
    /// These rules were not applied, or not to the end.
    RulesLeft(&'a [&'static str]),
    /// What only explains other findings was not looked for to the end.
    SearchLeft(&'static Rule),
    /// A waiver does not do what it should.
    Waiver(&'a Line, Flaw<'a>),
    /// A specimen expects a rule to find something, and it does not.
    NotFound {
        /// As the specimen names it.
        name: &'a Name,
        /// The rule.
        rule: &'static Rule,
        /// What checking the specimen brought instead.
        found: &'a [Finding],
    },
}

/// Why a waiver does not do what it should.
pub(crate) enum Flaw<'a> {
    /// What it names cannot be waived, or not here.
    Locked(&'static Rule),
    /// It is not all there.
    Lacks(Lack),
    /// It held until this day.
    Expired(Date),
    /// It silences nothing. Then come the findings of the rule that it leaves
    /// standing, which are beyond its bound or of another measure.
    Unused(&'static Rule, &'a [&'a Finding]),
}

/// What a waiver lacks to be one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lack {
    /// `because`, or words after it.
    Reason,
    /// The measure and its bound; what it would silence, where that is one
    /// thing.
    Bound(Option<Silenced>),
}

/// A measure that a waiver would silence, and on which side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Silenced {
    measure: LimitMeasure,
    up: bool,
}

impl Silenced {
    /// What a finding measured, where it lies beyond one side alone.
    pub(crate) fn by(finding: &Finding) -> Option<Self> {
        let extent = finding.extent.as_deref()?;
        (extent.high.is_some() != extent.low.is_some()).then_some(Self {
            measure: extent.measure,
            up: extent.high.is_some(),
        })
    }

    /// `of dose up to QUANTITY`: how far is for whoever waives it to say.
    pub(crate) fn phrase(self) -> String {
        let side = if self.up { "up to" } else { "down to" };
        format!("of {} {side} QUANTITY", self.measure.phrase())
    }
}
