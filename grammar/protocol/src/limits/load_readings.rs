//! Readings of loads, and of the whole order's drug.

use gutta_notation::ast::LimitMeasure;
use rustc_hash::FxHashSet;

use super::readings::{NotComparable, Reader, Reading, Reads, judged_by};
use super::run_readings::JudgedTogether;
use crate::delivery::{Endless, Piece};
use crate::derive::At;
use crate::model::limit::{LimitBound, LimitForm, Side, TotalOver, When};
use crate::model::size::{Form, Stuff};

impl Reader<'_> {
    /// How much, or how long: the loads of each giving together.
    pub(super) fn loads(&self, bound: &LimitBound) -> Vec<Reading> {
        let mut readings = Vec::new();
        for giving in self.givings() {
            let all = giving.pieces.len();
            let pieces = giving.pieces.iter();
            let pieces: Vec<_> = pieces.filter(|piece| piece.is_load(self.order)).collect();
            if pieces.is_empty() {
                continue;
            }
            // A load that is renewed until somebody stops it is one without end.
            let endless = pieces.iter().any(|piece| piece.volume.is_none());
            let part = JudgedTogether {
                line: pieces.len() == all,
                pieces,
                load: true,
            };
            let mut together = self.part(bound, &part);
            if endless && bound.measure == LimitMeasure::Bolus {
                for reading in &mut together {
                    reading.value = Reads::WithoutEnd;
                }
            }
            readings.extend(together);
        }
        if bound.measure == LimitMeasure::Bolus && bound.side == Side::High {
            readings.extend(self.flushed(bound));
        }
        readings
    }

    /// What each flush pushes out of the line at once, as a bolus.
    fn flushed(&self, bound: &LimitBound) -> Vec<Reading> {
        let (Some(delivery), LimitForm::Size(form)) = (self.delivery(), bound.form) else {
            return Vec::new();
        };
        let Some(first) = self.first_bag_of_drug() else {
            return Vec::new();
        };
        let each = delivery.flushed.iter().filter_map(|flushed| {
            let strength = delivery.strength_of_flushed(flushed, judged_by(bound))?;
            let value = if form.stuff == Stuff::Volume {
                self.per_patient(Some(flushed.volume.clone()), form)
            } else if self.is_apart(flushed.phase) {
                Reads::Unknown(NotComparable::Equivalence)
            } else {
                self.drug(first, flushed.volume.mul(&strength), form)
            };
            Some(Reading {
                phase: flushed.phase,
                phases: (flushed.phase, flushed.phase),
                load: true,
                span: flushed.span,
                at: At::Start,
                run: None,
                value,
                ends: None,
                given_way: Vec::new(),
            })
        });
        each.collect()
    }

    /// How fast: each of these pieces by itself.
    pub(super) fn load_rates(
        &self,
        bound: &LimitBound,
        which: impl Fn(&Piece) -> bool,
    ) -> Vec<Reading> {
        let Some(delivery) = self.delivery() else {
            return Vec::new();
        };
        let pieces = self.givings().iter().flat_map(|giving| &giving.pieces);
        // What is part of two givings is told once.
        let mut known = FxHashSet::default();
        let pieces =
            pieces.filter(|piece| which(piece) && known.insert((piece.phase, piece.source)));
        let each = pieces.map(|piece| Reading {
            phase: piece.phase,
            phases: (piece.phase, piece.phase),
            load: true,
            span: delivery.span_of(piece),
            at: At::Start,
            run: piece.run().map(|(_, run)| run),
            value: self.true_rate(piece, bound),
            ends: delivery.ends(piece),
            given_way: Vec::new(),
        });
        each.collect()
    }

    /// What a bound of loads says of one giving, as if all of it were a load;
    /// `run` is one of its runs, at which it is told.
    pub(super) fn as_loads(&self, bound: &LimitBound, run: (usize, usize)) -> Vec<Reading> {
        let (phase, place) = run;
        let of_run =
            |reading: &Reading| reading.phase == phase && reading.run.is_none_or(|of| of == place);
        let mut readings = match bound.measure {
            LimitMeasure::BolusRate => self.load_rates(bound, |piece| piece.run() == Some(run)),
            LimitMeasure::Bolus | LimitMeasure::BolusTime => {
                let ends = |part: &JudgedTogether<'_>| {
                    let mut runs = part.pieces.iter().filter_map(|piece| piece.run());
                    runs.next_back() == Some(run)
                };
                let mut parts = self.givings().iter().map(|giving| JudgedTogether {
                    pieces: giving.pieces.iter().collect(),
                    load: true,
                    line: true,
                });
                let part = parts.find(ends);
                part.map_or_else(Vec::new, |part| self.part(bound, &part))
            }
            _ => {
                let mut readings = self.readings(bound, true);
                for giving in self.givings() {
                    if giving.renewed() == Some(run) {
                        readings.extend(self.of_bags(bound, giving));
                    }
                }
                readings.retain(|reading| !reading.load);
                readings
            }
        };
        readings.retain(of_run);
        for reading in &mut readings {
            reading.load = true;
        }
        readings
    }

    fn true_rate(&self, piece: &Piece, bound: &LimitBound) -> Reads {
        match bound.form {
            LimitForm::Size(form) if form.stuff == Stuff::Volume => {
                self.per_patient(Some(piece.flow.clone()), form)
            }
            _ => {
                let delivery = self.delivery();
                let per_volume = delivery.and_then(|of| of.in_piece(piece, judged_by(bound)));
                let rate = per_volume.and_then(|per_volume| piece.flow.mul(&per_volume));
                self.counted(bound, rate, &[piece])
            }
        }
    }

    /// All drug, over the order or in any stretch: as it starts, and for a
    /// `never` at the highest (lowest) setting too.
    pub(super) fn totals(&self, bound: &LimitBound) -> Vec<Reading> {
        let LimitForm::Size(form) = bound.form else {
            return Vec::new();
        };
        let Some(first) = self.first_bag_of_drug() else {
            return Vec::new();
        };
        let adjusts = self
            .order
            .phases
            .iter()
            .find_map(|phase| phase.adjust.as_ref());
        let mut settings = vec![(At::Start, None)];
        if let (Some(adjust), false) = (adjusts, bound.usual) {
            let at = if bound.side == Side::High {
                At::High
            } else {
                At::Low
            };
            settings.push((at, Some(adjust.span)));
        }
        let span = self
            .view
            .phases
            .last()
            .and_then(|phase| phase.runs.last().map(|run| run.span));
        let span = span.unwrap_or(self.order.header);
        let mut readings = Vec::new();
        for (at, adjust) in settings {
            let value = if self.any_untied() {
                Reads::Unknown(NotComparable::Equivalence)
            } else {
                self.total(bound, form, first, at)
            };
            for (phase, load) in self.asked_of_total(bound, first) {
                readings.push(Reading {
                    phase,
                    phases: (first, first),
                    load,
                    span: adjust.unwrap_or(span),
                    at,
                    run: None,
                    value: value.clone(),
                    ends: None,
                    given_way: Vec::new(),
                });
            }
        }
        readings
    }

    /// Of which phases the conditions of a total are asked, each with whether it
    /// holds a load: of every one whose bag holds the drug, since it holds
    /// where it does for any.
    fn asked_of_total(&self, bound: &LimitBound, first: usize) -> Vec<(usize, bool)> {
        let by_phase = |when: &When| !when.routes.is_empty() || !when.purposes.is_empty();
        if !by_phase(&bound.when) && !bound.except.iter().any(by_phase) {
            return vec![(first, false)];
        }
        let pushes = |at: usize| {
            let delivery = self.delivery();
            delivery.is_some_and(|of| of.pushed.iter().any(|pushed| pushed.by == at))
        };
        let phases = self.view.phases.iter().enumerate();
        let of_drug = phases.filter(|(at, phase)| phase.bag.drug.is_some() || pushes(*at));
        of_drug
            .map(|(at, phase)| (at, !phase.boluses.is_empty() || self.is_load(at)))
            .collect()
    }

    fn total(&self, bound: &LimitBound, form: Form, first: usize, at: At) -> Reads {
        let at_setting;
        let delivery = match at {
            At::Start => self.delivery(),
            At::Low | At::High => {
                at_setting = self.view.delivery(self.order, at);
                at_setting.as_ref()
            }
        };
        let Some(delivery) = delivery else {
            return Reads::Unknown(NotComparable::NotComputable);
        };
        let later = bound.when.after_first.as_ref();
        let later = later.map(|time| delivery.after(time));
        let delivery = later.as_ref().unwrap_or(delivery);
        let counted = judged_by(bound);
        match &bound.over {
            TotalOver::Any(window) => self.drug(first, delivery.most_in(counted, window), form),
            TotalOver::Order => match delivery.all(counted) {
                Some(Endless::Ends(all)) => self.drug(first, Some(all), form),
                Some(Endless::WithoutEnd) => Reads::WithoutEnd,
                None => Reads::Unknown(NotComparable::NotComputable),
            },
        }
    }
}
