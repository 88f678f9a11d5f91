//! An order carried out in time, phase after phase, at one setting of what may
//! be adjusted.

use gutta_notation::Span;
use gutta_quantity::Exact;

use super::line::{Line, Pusher};
use super::{Delivery, Flush, Piece, Repeats, Source, last_end};
use crate::curve::Curve;
use crate::derive::{Action, At, KeepOpen, Patients, Phase, View};
use crate::model::order::{Again, Order, Phase as PhaseSpec, ThenSpec};
use crate::model::size::Size;

impl View {
    /// What the order gives at one setting of what may be adjusted; `None`
    /// where a value cannot be computed.
    #[must_use]
    pub fn delivery<'a>(&'a self, order: &'a Order, at: At) -> Option<Delivery<'a>> {
        self.delivery_with(order, |phase, run| self.flow_of(order, phase, run, at))
    }

    /// The same with every run at the setting given, where it can be.
    #[must_use]
    pub(crate) fn delivery_at<'a>(
        &'a self,
        order: &'a Order,
        setting: &Size,
    ) -> Option<Delivery<'a>> {
        self.delivery_with(order, |phase, run| {
            self.flow_when_set(order, phase, run, Some(setting))
        })
    }

    /// The same with the flow of each run, by its phase and place there, as
    /// `flow` says.
    fn delivery_with<'a>(
        &'a self,
        order: &'a Order,
        flow: impl Fn(usize, usize) -> Option<Curve>,
    ) -> Option<Delivery<'a>> {
        let mut build = Build {
            patients: &self.patients,
            clock: Some(self.patients.constant(Exact::ZERO)),
            line: Line::default(),
            delivery: Delivery {
                order,
                view: self,
                pieces: Vec::new(),
                flushes: Vec::new(),
                pushed: Vec::new(),
                stays: None,
                flushed: Vec::new(),
            },
        };
        for (index, (spec, phase)) in order.phases.iter().zip(&self.phases).enumerate() {
            build.phase(index, spec, phase, &flow)?;
        }
        let Build {
            line, mut delivery, ..
        } = build;
        delivery.pushed = line.pushed;
        delivery.stays = line.stays;
        delivery.flushed = line.flushed;
        Some(delivery)
    }
}

/// A delivery under way.
struct Build<'a> {
    patients: &'a Patients,
    /// When what comes next can start; `None`: never.
    clock: Option<Curve>,
    line: Line,
    delivery: Delivery<'a>,
}

impl Build<'_> {
    /// What the line of a phase holds, where its giving set says so.
    fn line_of(&self, spec: &PhaseSpec) -> Option<Curve> {
        let (volume, _) = spec.giving_set.as_ref()?.value.priming.as_ref()?;
        Some(self.patients.constant(volume.clone()))
    }

    fn phase(
        &mut self,
        index: usize,
        spec: &PhaseSpec,
        phase: &Phase,
        flow: &impl Fn(usize, usize) -> Option<Curve>,
    ) -> Option<()> {
        let begun = self.clock.is_some();
        if begun {
            let line = self.line_of(spec);
            let pusher = Pusher {
                phase: index,
                start: self.clock.clone(),
                span: first_line(spec),
            };
            self.line.begins(index, phase, line, pusher)?;
        }
        let mut every = None;
        // Of what is repeated, after the first time.
        let mut ended = self.clock.clone();
        for action in &phase.sequence {
            let Some(start) = self.clock.clone() else {
                break;
            };
            match *action {
                Action::Bolus(at) => {
                    self.bolus(index, at, spec, phase, start)?;
                    ended = self.clock.clone();
                }
                Action::Run(at) => {
                    (every, ended) = self.run(index, at, spec, phase, start, flow(index, at)?)?;
                }
            }
        }
        for (place, volume) in phase.flushes.iter().enumerate() {
            let flush = Flush {
                phase: index,
                place,
                start: ended.clone(),
                volume: volume.clone(),
                every: every.clone(),
            };
            if begun {
                let pusher = Pusher {
                    phase: index,
                    start: ended.clone(),
                    span: spec.flushes.get(place)?.0.span,
                };
                self.line.follows(volume, pusher, &every)?;
            }
            self.delivery.flushes.push(flush);
        }
        if let Some(keep_open) = &phase.keep_open {
            self.keep_open(index, spec, phase, keep_open);
        }
        Some(())
    }

    fn keep_open(&mut self, index: usize, spec: &PhaseSpec, phase: &Phase, keep_open: &KeepOpen) {
        let Some(start) = self.clock.take() else {
            return;
        };
        let then = spec.then.as_ref().map(|(then, _)| then);
        let with = matches!(
            then,
            Some(ThenSpec::KeepOpen {
                solution: Some(_),
                ..
            })
        );
        let (source, left) = if with {
            let pusher = Pusher {
                phase: index,
                start: Some(start.clone()),
                span: keep_open.span,
            };
            self.line.follows_without_end(&keep_open.flow, pusher);
            (Source::KeepOpenWith, None)
        } else {
            (Source::KeepOpen, left_for_keeping_open(phase, keep_open))
        };
        self.delivery.pieces.push(Piece {
            phase: index,
            source,
            start,
            time: left.as_ref().and_then(|left| left.div(&keep_open.flow)),
            volume: left,
            flow: keep_open.flow.clone(),
            every: None,
            again: Again::Once,
        });
    }

    fn bolus(
        &mut self,
        index: usize,
        at: usize,
        spec: &PhaseSpec,
        phase: &Phase,
        start: Curve,
    ) -> Option<()> {
        let bolus = phase.boluses.get(at)?;
        let mut repeats = spec.runs.iter().filter_map(|run| run.repeats());
        let repeat = repeats.next().filter(|_| bolus.each_time);
        let every = repeat.map(|every| (every.interval.value.clone(), every.count));
        self.clock = start.add(&bolus.time);
        self.delivery.pieces.push(Piece {
            phase: index,
            source: Source::Bolus(at),
            start,
            time: Some(bolus.time.clone()),
            flow: bolus.flow.clone(),
            volume: Some(bolus.volume.clone()),
            again: match every {
                Some(_) => Again::Repeated,
                None => Again::Once,
            },
            every,
        });
        Some(())
    }

    /// Gives how often the run comes, and when the first ends; `None` there:
    /// never.
    fn run(
        &mut self,
        index: usize,
        at: usize,
        spec: &PhaseSpec,
        phase: &Phase,
        start: Curve,
        flow: Curve,
    ) -> Option<(Repeats, Option<Curve>)> {
        let run = phase.runs.get(at)?;
        let time = if flow == run.flow {
            run.time.clone()
        } else {
            run.volume.div(&flow)?
        };
        let every = spec.runs.get(at)?.repeats();
        let every = every.map(|every| (every.interval.value.clone(), every.count));
        let order = self.delivery.order;
        let again = order.again(index, at);
        let renewed = match &spec.then {
            Some((ThenSpec::Renew(more), _)) if order.is_renewed(index, at) => Some(more),
            _ => None,
        };
        let (time, volume) = match renewed {
            Some(None) => (None, None),
            Some(Some(more)) => {
                let later = self.patients.constant(more.value.clone());
                let volume = run.volume.add(&flow.mul(&later)?)?;
                (Some(time.add(&later)?), Some(volume))
            }
            None => (Some(time), Some(run.volume.clone())),
        };
        self.clock = last_end(self.patients, &start, time.as_ref(), &every);
        let ended = time.as_ref().and_then(|time| start.add(time));
        self.delivery.pieces.push(Piece {
            phase: index,
            source: Source::Run(at),
            start,
            time,
            flow,
            volume,
            every: every.clone(),
            again,
        });
        Some((every, ended))
    }
}

/// The first line of a phase that runs something.
fn first_line(spec: &PhaseSpec) -> Span {
    let runs = spec.runs.iter().map(|run| run.span);
    let boluses = spec.boluses.iter().map(|bolus| bolus.span);
    runs.chain(boluses).next().unwrap_or(spec.span)
}

/// The drug runs until the bag is empty; where nothing is left in it for
/// anybody, the order does not say when it ends.
fn left_for_keeping_open(phase: &Phase, keep_open: &KeepOpen) -> Option<Curve> {
    keep_open.dose.as_ref()?;
    let most = phase.left.max_value()?;
    most.value.is_positive().then(|| phase.left.clone())
}
