//! When what reaches the patient, from the start of an order on.

use gutta_quantity::Exact;

use super::View;
use super::phase::Action;
use super::view::Patients;
use crate::curve::Curve;
use crate::model::order::{Order, ThenSpec};

/// One stretch of giving. Base units throughout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// The phase it belongs to.
    pub phase: usize,
    /// What is given.
    pub what: GivenWhat,
    /// When it starts, from the start of the order.
    pub start: Curve,
    /// How long it lasts; `None`: without end.
    pub time: Option<Curve>,
    /// Volume per time.
    pub flow: Curve,
    /// Drug per time, true; `None`: a plain fluid.
    pub dose: Option<Curve>,
    /// From start to start, and how often in all; `None`: until stopped.
    pub every: Repeats,
}

/// What a stretch of giving is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GivenWhat {
    /// A bolus, by its place in the phase.
    Bolus(usize),
    /// A run, by its place in the phase.
    Run(usize),
    /// The drug, kept open.
    KeepOpenDrug,
    /// Another fluid, kept open.
    KeepOpenFluid,
}

/// At which setting an order that may be adjusted is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// As it starts.
    Start,
    /// At the lowest step from the first moment on.
    Low,
    /// At the highest step from the first moment on.
    High,
}

/// From start to start, and how often in all; `None` inside: until stopped;
/// `None` outside: once.
pub type Repeats = Option<(Exact, Option<u32>)>;

/// Everything that an order gives, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// In the order of their starts.
    pub given: Vec<Given>,
    /// Flushes, which have no rate.
    pub flushes: Vec<Flushed>,
}

/// A flush of the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flushed {
    /// The phase it belongs to.
    pub phase: usize,
    /// Its place among the phase's flushes.
    pub place: usize,
    /// How much.
    pub volume: Curve,
    /// With every repetition of the run before it.
    pub every: Repeats,
}

/// More givings than this in one window are counted by their mean, upwards.
const MOST_OCCURRENCES: i64 = 500;

impl Schedule {
    /// The schedule; `None` where a value cannot be computed.
    #[must_use]
    pub fn of(order: &Order, view: &View, at: At) -> Option<Self> {
        Self::with(order, view, |phase, run| {
            super::setting::flow(order, view, phase, run, at)
        })
    }

    /// The schedule with the flow of each run, by its phase and place there,
    /// as `flow` says; `None` where a value cannot be computed.
    #[must_use]
    pub fn with(
        order: &Order,
        view: &View,
        flow: impl Fn(usize, usize) -> Option<Curve>,
    ) -> Option<Self> {
        let patients = &view.patients;
        let mut given = Vec::new();
        let mut flushes = Vec::new();
        let mut clock = Some(patients.constant(Exact::ZERO));
        let last = order.phases.len().checked_sub(1)?;
        for (index, (spec, phase)) in order.phases.iter().zip(&view.phases).enumerate() {
            let drug = phase.bag.drug.as_ref();
            let mut every = None;
            for action in &phase.sequence {
                let Some(start) = clock.clone() else { break };
                match *action {
                    Action::Bolus(at) => {
                        let bolus = phase.boluses.get(at)?;
                        let repeat = spec
                            .runs
                            .iter()
                            .find_map(|run| run.every.as_ref())
                            .filter(|_| bolus.each_time);
                        given.push(Given {
                            phase: index,
                            what: GivenWhat::Bolus(at),
                            time: Some(bolus.time.clone()),
                            flow: bolus.flow.clone(),
                            dose: drug.and_then(|drug| bolus.flow.mul(&drug.true_strength)),
                            every: repeat.map(|every| (every.interval.value.clone(), every.count)),
                            start: start.clone(),
                        });
                        clock = start.add(&bolus.time);
                    }
                    Action::Run(at_run) => {
                        let run = phase.runs.get(at_run)?;
                        let flow = flow(index, at_run)?;
                        let time = if flow == run.flow {
                            run.time.clone()
                        } else {
                            run.volume.div(&flow)?
                        };
                        every = spec
                            .runs
                            .get(at_run)?
                            .every
                            .as_ref()
                            .map(|every| (every.interval.value.clone(), every.count));
                        let then = spec.then.as_ref().map(|(then, _)| then);
                        let is_last = index == last && at_run + 1 == phase.runs.len();
                        let time = match (is_last, then) {
                            (true, Some(ThenSpec::Renew(None))) => None,
                            (true, Some(ThenSpec::Renew(Some(more)))) => {
                                Some(time.add(&patients.constant(more.value.clone()))?)
                            }
                            _ => Some(time),
                        };
                        given.push(Given {
                            phase: index,
                            what: GivenWhat::Run(at_run),
                            dose: drug.and_then(|drug| flow.mul(&drug.true_strength)),
                            flow,
                            start: start.clone(),
                            every: every.clone(),
                            time: time.clone(),
                        });
                        clock = after(patients, &start, time.as_ref(), every.as_ref());
                    }
                }
            }
            flushes.extend(
                phase
                    .flushes
                    .iter()
                    .enumerate()
                    .map(|(place, volume)| Flushed {
                        phase: index,
                        place,
                        volume: volume.clone(),
                        every: every.clone(),
                    }),
            );
            if let (Some(keep_open), Some(start)) = (&phase.keep_open, &clock) {
                given.push(keep_open_given(index, phase, keep_open, start));
                clock = None;
            }
        }
        Some(Self { given, flushes })
    }

    /// The most of something in any stretch of `window`, over the patients:
    /// `rate` picks its amount per time from a stretch of giving. The most is
    /// found where the window begins with the start of a giving, or ends with
    /// the end of one: between them the sum changes linearly.
    #[must_use]
    pub fn most_in(
        &self,
        patients: &Patients,
        window: &Exact,
        rate: impl Fn(&Given) -> Option<Curve>,
    ) -> Option<Curve> {
        let mut rated = Vec::with_capacity(self.given.len());
        for given in &self.given {
            if let Some(rate) = rate(given) {
                rated.push((given, rate));
            }
        }
        let zero = patients.constant(Exact::ZERO);
        if let [(given, rate)] = rated.as_slice()
            && given.time.is_none()
            && given.every.is_none()
        {
            return Some(rate.scale(window));
        }
        let length = patients.constant(window.clone());
        let mut most = zero.clone();
        for (given, _) in &rated {
            let mut begins = vec![given.start.clone()];
            if let Some(time) = &given.time {
                begins.push(given.start.add(time)?.sub(&length)?);
                if let Some((interval, Some(count))) = &given.every {
                    let later = interval * &Exact::from(i64::from(count.saturating_sub(1)));
                    let end = given.start.add(time)?.add(&patients.constant(later))?;
                    begins.push(end.sub(&length)?);
                }
            }
            for begin in begins {
                let end = begin.add(&length)?;
                let mut sum = zero.clone();
                for (given, rate) in &rated {
                    sum = sum.add(&given.in_window(patients, rate, &begin, &end, window)?)?;
                }
                most = most.max(&sum)?;
            }
        }
        Some(most)
    }

    /// All of something over the whole order; `Ok(None)`: it goes on without
    /// end.
    pub fn all(
        &self,
        patients: &Patients,
        rate: impl Fn(&Given) -> Option<Curve>,
    ) -> Option<Endless<Curve>> {
        let mut sum = patients.constant(Exact::ZERO);
        for given in &self.given {
            let Some(rate) = rate(given) else { continue };
            let Some(time) = &given.time else {
                return Some(Endless::WithoutEnd);
            };
            let once = rate.mul(time)?;
            let all = match &given.every {
                None => once,
                Some((_, Some(count))) => once.scale(&Exact::from(i64::from(*count))),
                Some((_, None)) => return Some(Endless::WithoutEnd),
            };
            sum = sum.add(&all)?;
        }
        Some(Endless::Ends(sum))
    }
}

/// A sum that may never end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Endless<T> {
    /// It comes to this.
    Ends(T),
    /// It grows without end.
    WithoutEnd,
}

/// When what follows can start; `None`: never.
fn after(
    patients: &Patients,
    start: &Curve,
    time: Option<&Curve>,
    every: Option<&(Exact, Option<u32>)>,
) -> Option<Curve> {
    let end = start.add(time?)?;
    match every {
        None => Some(end),
        Some((_, None)) => None,
        Some((interval, Some(count))) => {
            end.add(&patients.constant(interval * &Exact::from(i64::from(count.saturating_sub(1)))))
        }
    }
}

fn keep_open_given(
    index: usize,
    phase: &super::Phase,
    keep_open: &super::KeepOpen,
    start: &Curve,
) -> Given {
    let drug = keep_open.dose.is_some();
    // The drug runs until the bag is empty; where nothing is left in it, the
    // order does not say when it ends.
    let left = phase.left.div(&keep_open.flow).filter(|time| {
        drug && time
            .min_value()
            .is_some_and(|least| least.value.is_positive())
    });
    Given {
        phase: index,
        what: if drug {
            GivenWhat::KeepOpenDrug
        } else {
            GivenWhat::KeepOpenFluid
        },
        start: start.clone(),
        time: left,
        flow: keep_open.flow.clone(),
        dose: keep_open.dose.clone(),
        every: None,
    }
}

impl Given {
    /// What this stretch, with its repetitions, gives between two moments.
    fn in_window(
        &self,
        patients: &Patients,
        rate: &Curve,
        begin: &Curve,
        end: &Curve,
        window: &Exact,
    ) -> Option<Curve> {
        let Some((interval, count)) = &self.every else {
            return overlap(patients, &self.start, self.time.as_ref(), begin, end)?.mul(rate);
        };
        let Some(time) = &self.time else {
            return overlap(patients, &self.start, None, begin, end)?.mul(rate);
        };
        let fit = window
            .checked_div(interval)?
            .ceil()
            .to_i64()
            .unwrap_or(i64::MAX)
            .saturating_add(1);
        let count = count.map_or(i64::MAX, i64::from);
        if fit.min(count) > MOST_OCCURRENCES {
            // So many givings that their mean, and one more, is the most.
            let mean = &window.checked_div(interval)? + &Exact::ONE;
            return Some(rate.mul(time)?.scale(&mean));
        }
        let mut sum = patients.constant(Exact::ZERO);
        // A window that ends with the end of the course sees its last givings.
        let from_end = count <= 2 * MOST_OCCURRENCES && begin != &self.start;
        let range = if from_end {
            0..count
        } else {
            0..fit.min(count)
        };
        for occurrence in range {
            let later = patients.constant(interval * &Exact::from(occurrence));
            let start = self.start.add(&later)?;
            sum = sum.add(&overlap(patients, &start, Some(time), begin, end)?.mul(rate)?)?;
        }
        Some(sum)
    }
}

/// How long a stretch and a window share.
fn overlap(
    patients: &Patients,
    start: &Curve,
    time: Option<&Curve>,
    begin: &Curve,
    end: &Curve,
) -> Option<Curve> {
    let last = match time {
        Some(time) => start.add(time)?.min(end)?,
        None => end.clone(),
    };
    last.sub(&start.max(begin)?)?
        .max(&patients.constant(Exact::ZERO))
}
