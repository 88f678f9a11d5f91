//! What judging an order against limits finds.

use gutta_notation::Span;
use gutta_notation::ast::{LimitMeasure, Route};
use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::holds::{OpenCondition, Stretch};
use super::readings::{NotComparable, Reading};
use crate::StanzaId;
use crate::curve::{Region, covered};
use crate::derive::Values;
use crate::model::limit::LimitBound;

/// What judging an order against its drug's limits found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    /// Values beyond their bounds.
    pub breaches: Vec<Breach>,
    /// Bounds whose conditions ask what the order does not say.
    pub unanswered: Vec<Unanswered>,
    /// Bounds that could not be compared.
    pub unchecked: Vec<Unchecked>,
    /// What is forbidden outright and done all the same.
    pub forbidden: Vec<Forbidden>,
    /// Runs that only the limits of loads could judge, and whose phase does not
    /// say that it is one.
    pub as_loads: Vec<Unjudged>,
    /// Runs of which no limit at all says how much may be given, nor how fast.
    pub unjudged: Vec<Unjudged>,
    /// What a giving without end gives in the drug's shortest interval, beyond
    /// a single dose, where no `total` judges it: by a bound made for it.
    pub in_interval: Vec<Breach>,
    /// How many bounds judged something.
    pub applied: usize,
}

impl Judgement {
    /// Whether no bound is passed, and none is left open or could not be
    /// compared.
    #[must_use]
    pub const fn is_kept(&self) -> bool {
        self.breaches.is_empty() && self.unchecked.is_empty() && self.unanswered.is_empty()
    }

    /// Notes that the order leaves open what a limit's line asks.
    pub(super) fn unanswered(&mut self, drug: StanzaId, span: Span, asked: &OpenCondition) {
        let unanswered = Unanswered {
            drug,
            span,
            asked: asked.clone(),
        };
        if !self.unanswered.contains(&unanswered) {
            self.unanswered.push(unanswered);
        }
    }

    /// Notes what is forbidden outright, once.
    pub(super) fn forbid(&mut self, forbidden: Forbidden) {
        if !self.forbidden.contains(&forbidden) {
            self.forbidden.push(forbidden);
        }
    }
}

/// A value beyond a bound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Breach {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The bound.
    pub bound: LimitBound,
    /// Which view of the order.
    pub view: usize,
    /// The value.
    pub reading: Reading,
    /// For which patients, rising; never empty. For a value without end, or
    /// for an order whose values do not depend on the patient, the whole axis.
    pub regions: Vec<Region>,
    /// The value that lies furthest beyond, in base units of the bound's form,
    /// and where; `None`: it grows without end.
    pub worst: Option<(Exact, Exact)>,
}

impl Breach {
    /// Whether it is that of every patient whom the order covers: what is right
    /// for some of them is no wrong number, but may lack a cap.
    #[must_use]
    pub fn is_of_every_patient(&self, values: &Values) -> bool {
        let Some(view) = values.views.get(self.view) else {
            return false;
        };
        let whole = &view.patients.interval;
        let mut regions = self.regions.iter();
        regions.any(|region| region.from.x <= *whole.lo() && region.to.x >= *whole.hi())
    }

    /// Whether it is of every patient of its view whom the other is of.
    #[must_use]
    pub fn covers(&self, other: &Self) -> bool {
        covered(&other.regions, &self.regions)
    }
}

/// A bound whose conditions the order leaves open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unanswered {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The limit's line.
    pub span: Span,
    /// What is asked.
    pub asked: OpenCondition,
}

/// A bound that could not be compared, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unchecked {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The limit's line.
    pub span: Span,
    /// What it measures.
    pub measure: LimitMeasure,
    /// The order's line.
    pub at: Span,
    /// Why.
    pub why: NotComparable,
}

/// Something forbidden outright.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Forbidden {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The drug's line.
    pub limit: Span,
    /// The order's line.
    pub at: Span,
    /// What is forbidden.
    pub what: ForbiddenWhat,
}

/// What is forbidden outright.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ForbiddenWhat {
    /// A route that `only by` does not list.
    NotOnlyBy(Route),
    /// A route that `never by` lists.
    Route(Route),
    /// An area that `never in` lists.
    Area(SmolStr),
    /// The drug as supplied.
    Undiluted,
    /// A mixture that the drug alone fills.
    NoDiluent {
        /// In which view of the order.
        view: usize,
        /// For this patient, at the least.
        at: Exact,
    },
}

/// A run of which no limit says how much may be given, nor how fast; but for
/// limits of loads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unjudged {
    /// The run's line.
    pub at: Span,
    /// Its phase.
    pub phase: usize,
    /// Which view of the order.
    pub view: usize,
    /// For whom nothing else judges it.
    pub over: Vec<Stretch>,
}
