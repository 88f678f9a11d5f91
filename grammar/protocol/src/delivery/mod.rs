//! What reaches the patient, over time from the start of an order: how fast,
//! from what, and how often again. Whatever judges, sums or draws asks this,
//! and never the lines that an order is written in.

mod after;
mod build;
mod counted;
mod fixed;
mod giving;
mod line;
mod most;
mod rated;
mod repetitions;
mod window;

pub use counted::Counted;
pub(crate) use counted::in_bag;
pub(crate) use counted::in_fluid;
pub use giving::Giving;
pub use line::{Flushed, Pushed, Stays};
pub use window::Endless;

use gutta_notation::Span;
use gutta_quantity::Exact;

use crate::curve::Curve;
use crate::derive::{Patients, View};
use crate::model::order::{Again, Order};

/// Everything that an order gives, over the patients of a view. Base units
/// throughout.
#[derive(Clone, Debug)]
pub struct Delivery<'a> {
    /// The order.
    pub order: &'a Order,
    /// The patients, and what follows from the order for them.
    pub view: &'a View,
    /// What runs, in the order of the starts.
    pub pieces: Vec<Piece>,
    /// Flushes: the order does not say how fast.
    pub flushes: Vec<Flush>,
    /// What other fluid pushes out of the line after it.
    pub pushed: Vec<Pushed>,
    /// What of the last bag stays in the line at the end.
    pub stays: Option<Stays>,
    /// What flushes push out of the line at once.
    pub flushed: Vec<Flushed>,
}

/// One stretch of giving, at one flow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The phase it belongs to.
    pub phase: usize,
    /// What it comes from.
    pub source: Source,
    /// When it starts, from the start of the order.
    pub start: Curve,
    /// How long it lasts; `None`: without end.
    pub time: Option<Curve>,
    /// Volume per time.
    pub flow: Curve,
    /// All of its volume, once; `None`: without end.
    pub volume: Option<Curve>,
    /// From start to start, and how often in all.
    pub every: Repeats,
    /// Whether more of it follows.
    pub again: Again,
}

/// What a stretch of giving comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Source {
    /// A bolus, by its place in the phase.
    Bolus(usize),
    /// A run, by its place in the phase.
    Run(usize),
    /// The bag, kept open.
    KeepOpen,
    /// Another fluid, kept open.
    KeepOpenWith,
}

/// A flush of the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flush {
    /// The phase it belongs to.
    pub phase: usize,
    /// Its place among the phase's flushes.
    pub place: usize,
    /// When; `None`: after what has no end.
    pub start: Option<Curve>,
    /// How much.
    pub volume: Curve,
    /// With every repetition of the run before it.
    pub every: Repeats,
}

/// From start to start, and how often in all; `None` inside: until stopped;
/// `None` outside: once.
pub type Repeats = Option<(Exact, Option<u32>)>;

impl Delivery<'_> {
    /// The line of the order that a piece stands for.
    #[must_use]
    pub fn span_of(&self, piece: &Piece) -> Span {
        let phase = self.view.phases.get(piece.phase);
        let span = match piece.source {
            Source::Bolus(at) => phase.and_then(|of| of.boluses.get(at)).map(|of| of.span),
            Source::Run(at) => phase.and_then(|of| of.runs.get(at)).map(|of| of.span),
            Source::KeepOpen | Source::KeepOpenWith => {
                phase.and_then(|of| of.keep_open.as_ref()).map(|of| of.span)
            }
        };
        span.unwrap_or(self.order.header)
    }

    /// When a piece, with its repetitions, ends; `None`: never, or it cannot be
    /// computed.
    #[must_use]
    pub fn ends(&self, piece: &Piece) -> Option<Curve> {
        let patients = &self.view.patients;
        last_end(patients, &piece.start, piece.time.as_ref(), &piece.every)
    }
}

impl Source {
    const fn is_kept_open(self) -> bool {
        matches!(self, Self::KeepOpen | Self::KeepOpenWith)
    }
}

impl Piece {
    /// Whether it is of a bag that holds the drug.
    #[must_use]
    pub fn is_drug(&self, view: &View) -> bool {
        let phase = view.phases.get(self.phase);
        self.source != Source::KeepOpenWith && phase.is_some_and(|of| of.bag.drug.is_some())
    }

    /// Whether it is a bolus, or a run of a phase `as loading`.
    #[must_use]
    pub fn is_load(&self, order: &Order) -> bool {
        match self.source {
            Source::Bolus(_) => true,
            Source::Run(_) => {
                let phase = order.phases.get(self.phase);
                phase.is_some_and(crate::model::order::Phase::is_loading)
            }
            Source::KeepOpen | Source::KeepOpenWith => false,
        }
    }

    /// Whether it is given again: with every repetition, or with the next bag.
    #[must_use]
    pub(crate) const fn comes_back(&self) -> bool {
        !matches!(self.again, Again::Once)
    }

    /// The run that it is, by its phase and place there.
    #[must_use]
    pub const fn run(&self) -> Option<(usize, usize)> {
        match self.source {
            Source::Run(run) => Some((self.phase, run)),
            _ => None,
        }
    }
}

/// How often something with these repetitions happens in all; `None`: without
/// end.
pub(crate) fn times(every: &Repeats) -> Option<u32> {
    match every {
        None => Some(1),
        Some((_, count)) => *count,
    }
}

/// From the first start of something with these repetitions to the last;
/// `None`: without end.
fn from_first_to_last(every: &Repeats) -> Option<Exact> {
    match every {
        None => Some(Exact::ZERO),
        Some((interval, count)) => {
            Some(interval * &Exact::from(i64::from((*count)?.saturating_sub(1))))
        }
    }
}

/// When something that starts and lasts so ends for the last time; `None`:
/// never, or it cannot be computed.
fn last_end(
    patients: &Patients,
    start: &Curve,
    time: Option<&Curve>,
    every: &Repeats,
) -> Option<Curve> {
    let first = start.add(time?)?;
    match every {
        None => Some(first),
        Some(_) => first.add(&patients.constant(from_first_to_last(every)?)),
    }
}
