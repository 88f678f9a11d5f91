//! What runs, how, how often again, and what follows it.

use gutta_notation::Span;

use super::named::Named;
use super::reference::Solution;
use super::size::{Scalar, Size};

/// A run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunSpec {
    /// The line.
    pub span: Span,
    /// How much; `None`: the line does not say.
    pub what: Option<WhatSpec>,
    /// The ways it is set; one or two.
    pub ways: Vec<WaySpec>,
    /// The cap on dose × weight.
    pub dose_cap: Option<Size>,
    /// Its repetition.
    pub every: Option<EverySpec>,
}

impl RunSpec {
    /// Whether it is set by a dose.
    #[must_use]
    pub fn is_dosed(&self) -> bool {
        self.ways
            .iter()
            .any(|way| matches!(way, WaySpec::At(rate) if rate.form.drug().is_some()))
    }
}

/// How much a run gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhatSpec {
    /// What is left in the bag.
    All(Span),
    /// A volume or an amount, with its cap.
    Size(Size, Option<Size>),
}

/// A way a run is set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WaySpec {
    /// A time.
    Over(Scalar),
    /// A flow, a dose or a drip: its form says which.
    At(Size),
}

/// How a run repeats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EverySpec {
    /// From start to start, base units of time.
    pub interval: Scalar,
    /// How many givings; `None`: until stopped.
    pub count: Option<u32>,
    /// The whole of it.
    pub span: Span,
}

impl EverySpec {
    /// Whether it comes more than once.
    #[must_use]
    pub fn repeats(&self) -> bool {
        self.count != Some(1)
    }
}

impl RunSpec {
    /// How it repeats, where it comes more than once.
    #[must_use]
    pub fn repeats(&self) -> Option<&EverySpec> {
        self.every.as_ref().filter(|every| every.repeats())
    }
}

/// Whether more follows from the same line of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Again {
    /// It is given once.
    Once,
    /// It is given once, and is a load that another came before.
    AfterAnother,
    /// It is repeated.
    Repeated,
    /// Its bag is renewed.
    Renewed,
}

/// Permission to change the setting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AdjustSpec {
    /// The line.
    pub span: Span,
    /// The settings, in rising order, all of one form.
    pub steps: StepsSpec,
    /// The least time between two steps.
    pub every: Scalar,
}

impl AdjustSpec {
    /// Whether its settings are doses.
    #[must_use]
    pub fn is_dosed(&self) -> bool {
        let high = self.steps.high();
        high.is_some_and(|high| high.form.drug().is_some())
    }
}

/// The settings of an adjust.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepsSpec {
    /// From `low` to `high` by `step`.
    By {
        /// The lowest.
        low: Size,
        /// The highest.
        high: Size,
        /// The step.
        step: Size,
    },
    /// These.
    List(Vec<Size>),
}

impl StepsSpec {
    /// The lowest setting.
    #[must_use]
    pub fn low(&self) -> Option<&Size> {
        match self {
            Self::By { low, .. } => Some(low),
            Self::List(list) => list.first(),
        }
    }

    /// The highest setting.
    #[must_use]
    pub fn high(&self) -> Option<&Size> {
        match self {
            Self::By { high, .. } => Some(high),
            Self::List(list) => list.last(),
        }
    }
}

/// What follows the last run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ThenSpec {
    /// Nothing.
    Stop,
    /// The next bag, for this long, or until stopped.
    Renew(Option<Scalar>),
    /// A flow that keeps the vein open.
    KeepOpen {
        /// How fast: a flow or a dose.
        rate: Size,
        /// With what; `None`: the drug.
        solution: Option<Named<Solution>>,
    },
}
