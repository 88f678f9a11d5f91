//! Readings of the time between the starts of two givings.

use super::readings::{Reader, Reading, Reads};
use crate::delivery::{Giving, Piece};
use crate::derive::At;

impl Reader<'_> {
    /// From the start of each giving to that of the next: of what is repeated,
    /// and of what stands in other runs and phases. There an hour without the
    /// drug parts two, whatever is taken together for a single dose: two that
    /// are nearer than an interval allows are what it is stated against.
    pub(super) fn intervals(&self) -> Vec<Reading> {
        let mut readings = self.between_repetitions();
        let Some(delivery) = self.delivery() else {
            return readings;
        };
        let parts = delivery.givings(None);
        for pair in parts.windows(2) {
            if let [before, after] = pair {
                readings.extend(self.between(before, after));
            }
        }
        readings
    }

    fn between_repetitions(&self) -> Vec<Reading> {
        let each = self.each_run().filter_map(|(phase, run, _)| {
            let every = self
                .order
                .phases
                .get(phase)?
                .runs
                .get(run)?
                .every
                .as_ref()?;
            let value = Reads::Value(self.view.patients.constant(every.interval.value.clone()));
            Some(Reading {
                phase,
                phases: (phase, phase),
                load: self.giving_holds_load(phase, run),
                span: every.span,
                at: At::Start,
                run: Some(run),
                value,
                ends: self.ends(phase, run),
                given_way: Vec::new(),
            })
        });
        each.collect()
    }

    /// From the last start of one to the first of the next; `None` where the
    /// one goes on, or the next is its own first or last time.
    fn between(&self, before: &Giving, after: &Giving) -> Option<Reading> {
        let (last, next) = (before.pieces.last()?, after.pieces.first()?);
        let same = |piece: &Piece| (piece.phase, piece.source) == (next.phase, next.source);
        last.time.as_ref()?;
        if before.pieces.iter().any(same) {
            return None;
        }
        let start = before.last_start(self.view)?;
        let value = next.start.sub(&start)?;
        let delivery = self.delivery()?;
        Some(Reading {
            phase: next.phase,
            phases: (next.phase, next.phase),
            load: after.pieces.iter().any(|of| of.is_load(self.order)),
            span: delivery.span_of(next),
            at: At::Start,
            run: next.run().map(|(_, run)| run),
            value: Reads::Value(value),
            ends: Some(next.start.clone()),
            given_way: Vec::new(),
        })
    }
}
