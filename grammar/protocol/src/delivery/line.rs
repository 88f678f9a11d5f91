//! The line between the bag and the patient: what it was primed with reaches
//! the patient once something else follows through it.

use gutta_notation::Span;
use gutta_quantity::Exact;

use super::Repeats;
use crate::curve::Curve;
use crate::derive::Phase;

/// What was primed, pushed out of the line by what follows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pushed {
    /// The phase whose bag the line was filled from.
    pub phase: usize,
    /// The phase whose bag fills it instead; `None`: a fluid without drug.
    pub behind: Option<usize>,
    /// How much is pushed out.
    pub volume: Curve,
    /// The line of the order that pushes.
    pub span: Span,
    /// With every repetition.
    pub every: Repeats,
}

/// The line, as an order is carried out.
#[derive(Default)]
pub(super) struct Line {
    held: Option<Held>,
    pub(super) pushed: Vec<Pushed>,
}

/// What the line was primed with.
struct Held {
    phase: usize,
    volume: Curve,
}

impl Line {
    /// A phase begins: it primes the line, or its bag pushes out what was
    /// primed from another. `span` is the first line that runs from it.
    pub(super) fn begins(&mut self, index: usize, phase: &Phase, span: Span) -> Option<()> {
        if let Some(prime) = &phase.prime {
            self.held = Some(Held {
                phase: index,
                volume: prime.clone(),
            });
            return Some(());
        }
        let Some(held) = self.held.as_mut().filter(|_| phase.fresh) else {
            return Some(());
        };
        let runs = phase.runs.iter().map(|run| &run.volume);
        let boluses = phase.boluses.iter().map(|bolus| &bolus.volume);
        let mut all: Option<Curve> = None;
        for volume in runs.chain(boluses) {
            all = Some(match all {
                None => volume.clone(),
                Some(all) => all.add(volume)?,
            });
        }
        let Some(all) = all else { return Some(()) };
        self.pushed.push(Pushed {
            phase: held.phase,
            behind: Some(index),
            volume: held.volume.min(&all)?,
            span,
            every: None,
        });
        held.phase = index;
        Some(())
    }

    /// A volume without drug follows.
    pub(super) fn follows(&mut self, volume: &Curve, span: Span, every: &Repeats) -> Option<()> {
        let Some(held) = &mut self.held else {
            return Some(());
        };
        let (phase, pushed) = (held.phase, held.volume.min(volume)?);
        held.volume = held.volume.sub(&pushed)?;
        self.push(phase, pushed, span, every.clone());
        Some(())
    }

    /// A fluid without drug follows, for as long as it takes.
    pub(super) fn follows_without_end(&mut self, span: Span) {
        if let Some(held) = self.held.take() {
            self.push(held.phase, held.volume, span, None);
        }
    }

    fn push(&mut self, phase: usize, volume: Curve, span: Span, every: Repeats) {
        if volume.is_constant() == Some(&Exact::ZERO) {
            return;
        }
        self.pushed.push(Pushed {
            phase,
            behind: None,
            volume,
            span,
            every,
        });
    }
}
