//! What an order does, and what is asserted of it.

use smol_str::SmolStr;

use super::{Date, Dose, LimitMeasure, Name, Range, Text, Written};
use crate::{Span, Spanned};

/// What a `patient` line ranges over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PatientKind {
    /// Body weight.
    Weight,
    /// Body surface.
    Surface,
    /// Age.
    Age,
}

/// `run WHAT WAY [WAY] [, at most Q] [every TIME …]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// How much; `None`: the line does not say (`volume.missing`).
    pub what: Option<What>,
    /// One way or two; which kind an `at` is, its unit says.
    pub ways: Vec<Way>,
    /// The lid on the dose, after the way.
    pub dose_lid: Option<Written>,
    /// Its repetition.
    pub every: Option<Every>,
}

/// How much a run gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// `all`: what is left in the bag.
    All(Span),
    /// A volume, or an amount of drug, perhaps with a lid.
    Amount(Dose),
}

/// One way to set a run or bolus.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    /// `at Q`: a flow, a dose or a drip.
    At(Written),
    /// `over TIME`.
    Over(Written),
}

impl Way {
    /// The quantity after the word.
    #[must_use]
    pub const fn written(&self) -> &Written {
        match self {
            Self::At(written) | Self::Over(written) => written,
        }
    }
}

/// `every TIME [for N doses | for TIME]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Every {
    /// Between the starts of two givings.
    pub interval: Written,
    /// How often, or how long; `None`: until stopped.
    pub repeat: Option<Repeat>,
    /// The whole of it.
    pub span: Span,
}

/// How often a run repeats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Repeat {
    /// `for N doses`; `None` where the number has no value.
    Doses(Spanned<Option<u32>>),
    /// `for TIME`: the length of the course.
    For(Written),
}

/// `bolus AMOUNT|VOLUME over TIME|at RATE [, at most AMOUNT] [, each time]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bolus {
    /// How much, with its lid.
    pub dose: Dose,
    /// How fast.
    pub way: Way,
    /// Whether it is given with every repetition of the run.
    pub each_time: bool,
}

/// `adjust RANGE by STEP every TIME`, `adjust A, B, C UNIT every TIME`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adjust {
    /// The doses or flows that may be set.
    pub steps: Steps,
    /// The least time between two steps.
    pub every: Written,
}

/// The settings of an `adjust`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Steps {
    /// Counted from the low end.
    By {
        /// From lowest to highest.
        range: Range,
        /// The step.
        step: Written,
    },
    /// In rising order; each carries the unit written after the last.
    List(Vec<Written>),
}

/// What follows the last run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Then {
    /// `then stop`.
    Stop,
    /// `then renew [for TIME]`.
    Renew {
        /// For how long.
        lasting: Option<Written>,
    },
    /// `then keep open FLOW [with SOLUTION]`.
    KeepOpen {
        /// How fast.
        flow: Written,
        /// With what; `None`: the drug.
        solution: Option<Name>,
    },
}

/// What an `expect` asserts a value of.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ExpectMeasure {
    /// The exact flow.
    Flow,
    /// The flow as the pump can run it.
    PumpFlow,
    /// The strength, by the counted volume where one is counted.
    Strength,
    /// The strength, by the true volume.
    TrueStrength,
    /// Drops per time.
    Drops,
    /// How long a run takes.
    Time,
    /// Drug per time.
    Dose,
    /// Volume or amount of the bolus.
    Bolus,
    /// How long the bolus takes.
    BolusTime,
    /// What to draw up.
    Draw,
    /// All drug given.
    Total,
    /// Volume run.
    Volume,
    /// All fluid given.
    Fluid,
    /// A substance that a `contains` in scope declares.
    Substance(SmolStr),
}

/// `expect MEASURE Q [per day] [at WEIGHT|SURFACE] [at DOSE] [in PHASE]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expect {
    /// What is measured.
    pub measure: Spanned<ExpectMeasure>,
    /// The value it must have.
    pub value: Written,
    /// `per day`.
    pub per_day: bool,
    /// A weight, a surface, a dose: told apart by unit.
    pub at: Vec<Written>,
    /// `in PHASE`.
    pub phase: Option<Name>,
}

/// `waive RULE [of MEASURE up to|down to Q] because "…" [until DATE]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waive {
    /// The rule.
    pub rule: Name,
    /// How far it is waived.
    pub bound: Option<WaiveBound>,
    /// The reason; `None` where none is given, or an empty one.
    pub because: Option<Text>,
    /// The last day on which it holds.
    pub until: Option<Spanned<Option<Date>>>,
}

/// Beyond this the finding is back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WaiveBound {
    /// Which measure.
    pub measure: Spanned<LimitMeasure>,
    /// `up to`, else `down to`.
    pub up: bool,
    /// The bound.
    pub quantity: Written,
}

/// The lines that are words for people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum WordsKind {
    /// `goal`.
    Goal,
    /// `monitor`.
    Monitor,
    /// `note`.
    Note,
    /// `source`.
    Source,
    /// `stop when`.
    StopWhen,
}
