//! The line between the bag and the patient: what it was primed with reaches
//! the patient once something else follows through it.

use gutta_notation::Span;
use gutta_quantity::Exact;

use super::Repeats;
use crate::curve::Curve;
use crate::derive::{Action, Phase};

/// What was primed, pushed out of the line by what follows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pushed {
    /// The phase whose bag the line was filled from.
    pub phase: usize,
    /// Those whose bags took its place before, one after the other.
    pub since: Vec<usize>,
    /// The phase whose bag fills it instead; `None`: a fluid without drug.
    pub behind: Option<usize>,
    /// The phase that pushes it out.
    pub by: usize,
    /// From when on; `None`: after what has no end.
    pub start: Option<Curve>,
    /// How much is pushed out.
    pub volume: Curve,
    /// How fast, at the most; `None`: the order does not say.
    pub flow: Option<Curve>,
    /// The line of the order that pushes.
    pub span: Span,
    /// With every repetition.
    pub every: Repeats,
}

impl Pushed {
    /// When all of it is out; `None`: it is not said.
    #[must_use]
    pub fn ends(&self) -> Option<Curve> {
        self.start
            .as_ref()?
            .add(&self.volume.div(self.flow.as_ref()?)?)
    }
}

/// What a flush pushes out of the line at once, whether or not it counts as
/// given already.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flushed {
    /// The phase whose bag the line was filled from.
    pub phase: usize,
    /// Those whose bags took its place before, one after the other.
    pub since: Vec<usize>,
    /// How much, at the most.
    pub volume: Curve,
    /// The flush's line.
    pub span: Span,
}

/// What left a bag and stays in the line, which was not primed with it: it
/// counts as given, but for a lower bound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stays {
    /// The phase whose bag fills the line.
    pub phase: usize,
    /// How much the line holds of it, at the most.
    pub volume: Curve,
}

/// The line, as an order is carried out.
#[derive(Default)]
pub(super) struct Line {
    held: Option<Held>,
    pub(super) pushed: Vec<Pushed>,
    pub(super) stays: Option<Stays>,
    pub(super) flushed: Vec<Flushed>,
}

/// What pushes out what the line holds.
pub(super) struct Pusher {
    pub(super) phase: usize,
    /// From when on; `None`: after what has no end.
    pub(super) start: Option<Curve>,
    /// The line of the order that says so.
    pub(super) span: Span,
}

/// What the line was primed with.
struct Held {
    phase: usize,
    since: Vec<usize>,
    volume: Curve,
}

impl Line {
    /// A phase begins: it primes the line, or its bag pushes out what was
    /// primed from another. `line` is what the line holds, where that is
    /// stated; `pusher` the first line that runs from it, and when.
    pub(super) fn begins(
        &mut self,
        index: usize,
        phase: &Phase,
        line: Option<Curve>,
        pusher: Pusher,
    ) -> Option<()> {
        if phase.fresh {
            let unprimed = line.filter(|_| phase.prime.is_none() && self.held.is_none());
            self.stays = unprimed.map(|volume| Stays {
                phase: index,
                volume,
            });
        }
        if let Some(prime) = &phase.prime {
            self.held = Some(Held {
                phase: index,
                since: Vec::new(),
                volume: prime.clone(),
            });
            return Some(());
        }
        let Some(held) = self.held.as_mut().filter(|_| phase.fresh) else {
            return Some(());
        };
        let mut all: Option<Curve> = None;
        let mut flow: Option<Curve> = None;
        for action in &phase.sequence {
            let (volume, speed) = match *action {
                Action::Bolus(at) => phase.boluses.get(at).map(|of| (&of.volume, &of.flow)),
                Action::Run(at) => phase.runs.get(at).map(|of| (&of.volume, &of.flow)),
            }?;
            // Once all of it is out, it is of no account how fast more follows.
            let is_out = all.as_ref().and_then(|all| {
                let less = all.where_below(&held.volume)?;
                Some(less.is_empty())
            });
            if is_out == Some(true) {
                break;
            }
            all = Some(match all {
                None => volume.clone(),
                Some(all) => all.add(volume)?,
            });
            flow = Some(match flow {
                None => speed.clone(),
                Some(flow) => flow.max(speed)?,
            });
        }
        let Some(all) = all else { return Some(()) };
        self.pushed.push(Pushed {
            phase: held.phase,
            since: held.since.clone(),
            behind: Some(index),
            by: pusher.phase,
            start: pusher.start,
            volume: held.volume.min(&all)?,
            flow,
            span: pusher.span,
            every: None,
        });
        held.since.push(index);
        Some(())
    }

    /// A volume without drug follows, at a speed that is not stated.
    pub(super) fn follows(
        &mut self,
        volume: &Curve,
        pusher: Pusher,
        every: &Repeats,
    ) -> Option<()> {
        if let Some(stays) = &mut self.stays {
            let out = stays.volume.min(volume)?;
            self.flushed.push(Flushed {
                phase: stays.phase,
                since: Vec::new(),
                volume: out.clone(),
                span: pusher.span,
            });
            stays.volume = stays.volume.sub(&out)?;
        }
        let Some(held) = &mut self.held else {
            return Some(());
        };
        let pushed = held.volume.min(volume)?;
        held.volume = held.volume.sub(&pushed)?;
        let of = Held {
            phase: held.phase,
            since: held.since.clone(),
            volume: pushed,
        };
        self.flushed.push(Flushed {
            phase: of.phase,
            since: of.since.clone(),
            volume: of.volume.clone(),
            span: pusher.span,
        });
        self.push(of, None, pusher, every.clone());
        Some(())
    }

    /// A fluid without drug follows, for as long as it takes.
    pub(super) fn follows_without_end(&mut self, flow: &Curve, pusher: Pusher) {
        self.stays = None;
        if let Some(held) = self.held.take() {
            self.push(held, Some(flow.clone()), pusher, None);
        }
    }

    fn push(&mut self, of: Held, flow: Option<Curve>, pusher: Pusher, every: Repeats) {
        if of.volume.is_constant() == Some(&Exact::ZERO) {
            return;
        }
        self.pushed.push(Pushed {
            phase: of.phase,
            since: of.since,
            behind: None,
            by: pusher.phase,
            start: pusher.start,
            volume: of.volume,
            flow,
            span: pusher.span,
            every,
        });
    }
}
