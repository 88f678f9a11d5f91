//! Readings of runs as givings of their own: how much, how often, how long.

use super::readings::{Drug, Reader, Reading, Reads};
use crate::derive::At;
use crate::model::limit::LimitBound;
use crate::model::order::ThenSpec;

impl Reader<'_> {
    /// Runs that are each a giving of their own.
    pub(super) fn single_doses(&self, bound: &LimitBound) -> Vec<Reading> {
        let stops = self
            .order
            .phases
            .last()
            .and_then(|phase| phase.then.as_ref())
            .is_some_and(|(then, _)| *then == ThenSpec::Stop);
        let mut readings = Vec::new();
        for (phase, run, derived) in self.each_run() {
            if self.is_load(phase) {
                continue;
            }
            let repeats = self
                .spec(phase, run)
                .is_some_and(|spec| spec.every.is_some());
            if stops || repeats {
                let drug = derived.amount.clone().map(|amount| Drug {
                    amount,
                    within: derived.volume.clone(),
                });
                let value = self.plain_or_drug(phase, None, drug, bound);
                let span = derived.span;
                readings.push(Reading {
                    phase,
                    load: false,
                    span,
                    at: At::Start,
                    run: Some(run),
                    value,
                    ends: None,
                });
            }
        }
        readings
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
