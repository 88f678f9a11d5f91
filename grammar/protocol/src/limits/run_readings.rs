//! Readings of givings, of one run or several: how much, how often, how long.

use super::readings::{Drug, Reader, Reading, Reads};
use crate::derive::{At, Run};
use crate::model::limit::LimitBound;
use crate::model::order::ThenSpec;

impl Reader<'_> {
    /// The drug of each giving that is one of its own.
    pub(super) fn single_doses(&self, bound: &LimitBound) -> Vec<Reading> {
        let stops = self
            .order
            .phases
            .last()
            .and_then(|phase| phase.then.as_ref())
            .is_some_and(|(then, _)| *then == ThenSpec::Stop);
        let mut readings = Vec::new();
        for giving in self.givings() {
            let Some(&(phase, run, last)) = giving.last() else {
                continue;
            };
            if !stops && !self.repeats(phase, run) {
                continue;
            }
            let value = self.plain_or_drug(phase, None, together(&giving), bound);
            readings.push(Reading {
                phase,
                load: false,
                span: last.span,
                at: At::Start,
                run: Some(run),
                value,
                ends: None,
            });
        }
        readings
    }

    /// The runs of one giving each: one that repeats is one; those that follow
    /// one another from one bag, as rates that rise step by step, are one
    /// together. Loads are judged otherwise.
    fn givings(&self) -> Vec<Vec<(usize, usize, &Run)>> {
        let mut givings: Vec<Vec<(usize, usize, &Run)>> = Vec::new();
        for (phase, run, derived) in self.each_run() {
            if self.is_load(phase) {
                continue;
            }
            let hangs_another = self.view.phases.get(phase).is_none_or(|of| of.fresh);
            let goes_on = |giving: &&mut Vec<(usize, usize, &Run)>| {
                let before = giving.last();
                before.is_some_and(|(known, last, _)| {
                    let one_bag = *known == phase || !hangs_another;
                    one_bag && !self.repeats(*known, *last) && !self.repeats(phase, run)
                })
            };
            match givings.last_mut().filter(goes_on) {
                Some(giving) => giving.push((phase, run, derived)),
                None => givings.push(vec![(phase, run, derived)]),
            }
        }
        givings
    }

    /// The runs, by phase and place there, of the giving that a run is part of.
    pub(super) fn giving_with(&self, phase: usize, run: usize) -> Vec<(usize, usize)> {
        let is_it = |(of, place, _): &(usize, usize, &Run)| (*of, *place) == (phase, run);
        let mut givings = self.givings().into_iter();
        let giving = givings.find(|giving| giving.iter().any(is_it));
        let giving = giving.unwrap_or_default().into_iter();
        giving.map(|(phase, run, _)| (phase, run)).collect()
    }

    fn repeats(&self, phase: usize, run: usize) -> bool {
        self.spec(phase, run)
            .is_some_and(|spec| spec.every.is_some())
    }

    fn spec(&self, phase: usize, run: usize) -> Option<&crate::model::order::RunSpec> {
        self.order.phases.get(phase)?.runs.get(run)
    }

    pub(super) fn intervals(&self) -> Vec<Reading> {
        let each = self.each_run().filter_map(|(phase, run, _)| {
            let every = self.spec(phase, run)?.every.as_ref()?;
            let value = Reads::Value(self.view.patients.constant(every.interval.value.clone()));
            let load = self.is_load(phase);
            Some(Reading {
                phase,
                load,
                span: every.span,
                at: At::Start,
                run: Some(run),
                value,
                ends: None,
            })
        });
        each.collect()
    }

    pub(super) fn times(&self) -> Vec<Reading> {
        let each = self
            .each_run()
            .filter(|(phase, ..)| !self.is_load(*phase))
            .map(|(phase, run, derived)| {
                let value = Reads::Value(derived.time.clone());
                Reading {
                    phase,
                    load: false,
                    span: derived.span,
                    at: At::Start,
                    run: Some(run),
                    value,
                    ends: None,
                }
            });
        each.collect()
    }
}

/// The drug of several runs, and the volume that it is in.
fn together(runs: &[(usize, usize, &Run)]) -> Option<Drug> {
    let mut each = runs
        .iter()
        .map(|(_, _, run)| Drug::of(run.amount.clone(), &run.volume));
    let first = each.next()??;
    each.try_fold(first, |all, drug| {
        let drug = drug?;
        Some(Drug {
            amount: all.amount.add(&drug.amount)?,
            within: all.within.add(&drug.within)?,
        })
    })
}
