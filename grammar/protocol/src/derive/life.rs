//! How long a bag lasts, and how many of them a day needs.

use gutta_quantity::{Exact, units};

use super::View;
use super::phase::Action;
use crate::curve::Curve;
use crate::model::order::{Order, ThenSpec, WhatSpec};
use crate::model::size::Size;

/// The length of a day in base units of time.
#[must_use]
pub fn day() -> Exact {
    units::DAYS.factor()
}

/// What becomes of a bag from the moment it is begun. Base units throughout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Life {
    /// Purged at once.
    pub primed: Option<Curve>,
    /// What runs from it after that, in order: volume and flow.
    pub stretches: Vec<(Curve, Curve)>,
    /// How long all of that takes.
    pub time: Curve,
    /// In the bag afterwards: it runs dry where this is zero.
    pub left: Curve,
}

/// How the bags of a phase follow each other. Base units throughout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Succession {
    /// What makes way for the next one, and when.
    pub next: Next,
    /// From one bag to the next.
    pub lasts: Curve,
    /// Bags in a day, on average; no more than there are in all.
    pub per_day: Curve,
}

/// What makes way for the next bag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// The one before is through: its volume at its flow, unless it is changed
    /// sooner, after this time.
    Renewed(Box<Renewal>),
    /// The run repeats, with a fresh bag each time; how often at most.
    Repeated(Option<u32>),
}

/// One bag after the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Renewal {
    /// What runs from each.
    pub volume: Curve,
    /// At which flow.
    pub flow: Curve,
    /// Changed after this time at the latest.
    pub change: Option<Exact>,
}

impl View {
    /// The life of the bag that a phase hangs, over the phases that go on with
    /// it; `None` where the phase hangs none, or a value cannot be computed.
    #[must_use]
    pub fn life_of_bag(&self, order: &Order, index: usize, setting: Option<&Size>) -> Option<Life> {
        self.life_with(index, |phase, run| {
            self.flow_when_set(order, phase, run, setting)
        })
    }

    /// The same with the flow of each run, by its phase and place there, as
    /// `flow` says.
    #[must_use]
    pub fn life_with(
        &self,
        index: usize,
        flow: impl Fn(usize, usize) -> Option<Curve>,
    ) -> Option<Life> {
        let own = self.phases.get(index).filter(|phase| phase.fresh)?;
        let zero = self.patients.constant(Exact::ZERO);
        let mut life = Life {
            primed: own.prime.clone(),
            stretches: Vec::new(),
            time: zero.clone(),
            left: own.bag.volume.clone(),
        };
        for (at, phase) in self.sharing(index) {
            if let Some(prime) = &phase.prime {
                life.left = life.left.sub(prime)?.max(&zero)?;
            }
            for action in &phase.sequence {
                let (volume, flow) = match *action {
                    Action::Bolus(bolus) => {
                        let bolus = phase.boluses.get(bolus)?;
                        (bolus.volume.clone(), bolus.flow.clone())
                    }
                    Action::Run(run) => {
                        let volume = phase.runs.get(run)?.volume.clone();
                        (volume, flow(at, run)?)
                    }
                };
                life.runs(volume, flow)?;
            }
            if let Some(keep_open) = phase.keep_open.as_ref().filter(|open| open.dose.is_some()) {
                life.runs(life.left.clone(), keep_open.flow.clone())?;
            }
        }
        Some(life)
    }

    /// How the bags of a phase follow each other; `None` where none does.
    #[must_use]
    pub fn succession(
        &self,
        order: &Order,
        index: usize,
        setting: Option<&Size>,
    ) -> Option<Succession> {
        self.succession_with(order, index, |phase, run| {
            self.flow_when_set(order, phase, run, setting)
        })
    }

    /// The same with the flow of each run, by its phase and place there, as
    /// `flow` says.
    #[must_use]
    pub fn succession_with(
        &self,
        order: &Order,
        index: usize,
        flow: impl Fn(usize, usize) -> Option<Curve>,
    ) -> Option<Succession> {
        let (spec, phase) = (order.phases.get(index)?, self.phases.get(index)?);
        let day = self.patients.constant(day());
        if let Some(every) = spec.runs.iter().find_map(|run| run.every.as_ref()) {
            let lasts = self.patients.constant(every.interval.value.clone());
            let per_day = day.div(&lasts)?;
            let in_all = every
                .count
                .map(|count| self.patients.constant(Exact::from(i64::from(count))));
            return Some(Succession {
                next: Next::Repeated(every.count),
                per_day: match in_all {
                    Some(in_all) => per_day.min(&in_all)?,
                    None => per_day,
                },
                lasts,
            });
        }
        let Some((ThenSpec::Renew(_), _)) = &spec.then else {
            return None;
        };
        let run = phase.runs.last()?;
        let flow = flow(index, run.index)?;
        // The next bag has neither priming nor boluses.
        let volume = match &spec.runs.last()?.what {
            Some(WhatSpec::All(_)) => phase.bag.volume.clone(),
            _ => run.volume.min(&phase.bag.volume)?,
        };
        let change = spec.change_bag.as_ref().map(|time| time.value.clone());
        let through = volume.div(&flow)?;
        let lasts = match &change {
            Some(change) => through.min(&self.patients.constant(change.clone()))?,
            None => through,
        };
        Some(Succession {
            per_day: day.div(&lasts)?,
            lasts,
            next: Next::Renewed(Box::new(Renewal {
                volume,
                flow,
                change,
            })),
        })
    }
}

impl Life {
    /// Runs a volume from the bag, or what is left where that is less.
    fn runs(&mut self, volume: Curve, flow: Curve) -> Option<()> {
        let volume = if volume == self.left {
            volume
        } else {
            volume.min(&self.left)?
        };
        self.left = self.left.sub(&volume)?;
        self.time = self.time.add(&volume.div(&flow)?)?;
        self.stretches.push((volume, flow));
        Some(())
    }
}
