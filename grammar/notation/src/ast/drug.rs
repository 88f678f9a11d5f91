//! A drug's own rules.

use super::{Name, Range, Written};
use crate::Spanned;

/// The routes of the notation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Route {
    /// `central vein`.
    CentralVein,
    /// `peripheral vein`.
    PeripheralVein,
    /// `umbilical vein`.
    UmbilicalVein,
    /// `intraosseous`.
    Intraosseous,
    /// `subcutaneous`.
    Subcutaneous,
    /// `epidural`.
    Epidural,
    /// `intrathecal`.
    Intrathecal,
    /// `nerve block`.
    NerveBlock,
    /// `wound`.
    Wound,
    /// `arterial`.
    Arterial,
    /// `enteral`.
    Enteral,
}

impl Route {
    /// Every route, in the notation's order.
    pub const ALL: [Self; 11] = [
        Self::CentralVein,
        Self::PeripheralVein,
        Self::UmbilicalVein,
        Self::Intraosseous,
        Self::Subcutaneous,
        Self::Epidural,
        Self::Intrathecal,
        Self::NerveBlock,
        Self::Wound,
        Self::Arterial,
        Self::Enteral,
    ];

    /// As the notation writes it.
    #[must_use]
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::CentralVein => "central vein",
            Self::PeripheralVein => "peripheral vein",
            Self::UmbilicalVein => "umbilical vein",
            Self::Intraosseous => "intraosseous",
            Self::Subcutaneous => "subcutaneous",
            Self::Epidural => "epidural",
            Self::Intrathecal => "intrathecal",
            Self::NerveBlock => "nerve block",
            Self::Wound => "wound",
            Self::Arterial => "arterial",
            Self::Enteral => "enteral",
        }
    }
}

/// How the drug is supplied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Supplied {
    /// `4 mg in 4 mL`: one container.
    Amount {
        /// The drug in one container.
        amount: Written,
        /// The container's volume.
        volume: Written,
    },
    /// `1 %`, `1 mg/mL`, perhaps `in 20 mL`.
    Strength {
        /// Drug per volume.
        strength: Written,
        /// The container's volume, where said.
        volume: Option<Written>,
    },
}

/// `equals 1 g, 4.06 mmol, 8.12 mEq`: all the same amount of this drug.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equals(pub Vec<Written>);

/// What a limit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LimitMeasure {
    /// Drug per time.
    Dose,
    /// Volume per time.
    Flow,
    /// Drug of one giving.
    SingleDose,
    /// Between the starts of two givings.
    Interval,
    /// Of what is in the bag.
    Strength,
    /// Of what is in the bag.
    Osmolarity,
    /// Amount of a bolus.
    Bolus,
    /// Volume or drug per time of a bolus.
    BolusRate,
    /// How long a bolus takes.
    BolusTime,
    /// All drug given, per window.
    Total,
    /// Of one run.
    Time,
}

impl LimitMeasure {
    /// Every measure of a limit.
    pub const ALL: [Self; 11] = [
        Self::Dose,
        Self::Flow,
        Self::SingleDose,
        Self::Interval,
        Self::Strength,
        Self::Osmolarity,
        Self::Bolus,
        Self::BolusRate,
        Self::BolusTime,
        Self::Total,
        Self::Time,
    ];

    /// As the notation writes it.
    #[must_use]
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Dose => "dose",
            Self::Flow => "flow",
            Self::SingleDose => "single dose",
            Self::Interval => "interval",
            Self::Strength => "strength",
            Self::Osmolarity => "osmolarity",
            Self::Bolus => "bolus",
            Self::BolusRate => "bolus rate",
            Self::BolusTime => "bolus time",
            Self::Total => "total",
            Self::Time => "time",
        }
    }
}

/// The time over which a `total` is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Window {
    /// `per day`.
    PerDay,
    /// `in any TIME`.
    InAny(Written),
}

/// When a limit holds. Lists mean any of them; different kinds must all hold.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Conditions {
    /// `by ROUTE, …`.
    pub routes: Vec<Spanned<Route>>,
    /// `in AREA, …`.
    pub areas: Vec<Name>,
    /// `for RANGE`, of weights or surfaces.
    pub patients: Option<Range>,
    /// `aged RANGE`.
    pub aged: Option<Range>,
    /// `as PURPOSE, …`.
    pub purposes: Vec<Name>,
    /// `after the first TIME`.
    pub after_first: Option<Written>,
}

impl Conditions {
    /// Whether nothing is asked for.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.routes.is_empty()
            && self.areas.is_empty()
            && self.patients.is_none()
            && self.aged.is_none()
            && self.purposes.is_empty()
            && self.after_first.is_none()
    }
}

/// A measure and its bound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// What is measured.
    pub measure: Spanned<LimitMeasure>,
    /// The bound.
    pub bound: Bound,
    /// For a `total`: over which time; `None`: the whole order.
    pub window: Option<Spanned<Window>>,
}

/// The bound of a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bound {
    /// `usual`: a range.
    Within(Range),
    /// `never … above Q`.
    NotAbove(Written),
    /// `never … below Q`.
    NotBelow(Written),
}

/// `usual MEASURE RANGE [conditions]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Usual {
    /// Measure and range.
    pub limit: Limit,
    /// When it holds.
    pub conditions: Conditions,
}

/// `never …`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Never {
    /// What must never be.
    pub what: NeverWhat,
    /// When it holds.
    pub conditions: Conditions,
    /// When it does not: a list of alternatives (`except in adult-icu, by
    /// central vein`), any of which lifts it; within one, all must hold.
    pub except: Option<Spanned<Vec<Conditions>>>,
}

/// What must never be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NeverWhat {
    /// `never MEASURE above|below Q`.
    Limit(Limit),
    /// `never by ROUTE, …`.
    By(Vec<Spanned<Route>>),
    /// `never in AREA, …`.
    In(Vec<Name>),
    /// `never undiluted`.
    Undiluted,
}
