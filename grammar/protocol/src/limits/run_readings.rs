//! Readings of givings, of one piece or several: how much, how often, how long.

use gutta_notation::ast::LimitMeasure;

use super::holds::{Stretch, holds};
use super::readings::{NotComparable, Reader, Reading, Reads, is_as_loading, judged_by};
use crate::curve::Curve;
use crate::delivery::{Counted, Giving, Piece};
use crate::derive::At;
use crate::model::limit::{LimitBound, LimitForm, Side};
use crate::model::size::Stuff;

/// Pieces that are judged together.
pub(super) struct JudgedTogether<'d> {
    /// In order; never empty.
    pub(super) pieces: Vec<&'d Piece>,
    /// Whether they are judged as a load.
    pub(super) load: bool,
    /// Whether what they leave in the line counts with them.
    pub(super) line: bool,
}

impl Reader<'_> {
    /// The drug of each giving that has an end; of one without, its loads
    /// together.
    pub(super) fn single_doses(&self, bound: &LimitBound) -> Vec<Reading> {
        let mut readings = Vec::new();
        for giving in self.givings() {
            if giving.renewed().is_none() {
                readings.extend(self.single_dose(bound, giving));
            } else if !giving.has_end() && bound.side == Side::High {
                let once = |piece: &&Piece| piece.is_load(self.order) && !piece.comes_back();
                let loads: Vec<_> = giving.pieces.iter().filter(once).collect();
                readings.extend(self.dose_of(bound, loads));
            }
        }
        readings
    }

    /// The drug of one giving that has an end.
    pub(super) fn single_dose(&self, bound: &LimitBound, giving: &Giving) -> Vec<Reading> {
        self.dose_of(bound, giving.pieces.iter().collect())
    }

    /// The drug of a giving that is renewed, up to the end of its first bag.
    pub(super) fn first_bag(&self, bound: &LimitBound, giving: &Giving) -> Vec<Reading> {
        self.dose_of(bound, self.up_to_first_bag(giving).pieces.iter().collect())
    }

    /// A giving that is renewed, up to the end of its first bag.
    pub(super) fn up_to_first_bag(&self, giving: &Giving) -> Giving {
        let Some(delivery) = self.delivery() else {
            return giving.clone();
        };
        let once = giving.pieces.iter().map(|piece| Piece {
            volume: delivery.volume_once(piece),
            time: delivery.time_once(piece),
            ..piece.clone()
        });
        Giving {
            pieces: once.collect(),
            every: giving.every.clone(),
        }
    }

    fn dose_of(&self, bound: &LimitBound, pieces: Vec<&Piece>) -> Vec<Reading> {
        let load = self.holds_load(&pieces);
        let part = JudgedTogether {
            pieces,
            load,
            line: true,
        };
        let mut readings = self.part(bound, &part);
        if load && !is_as_loading(bound) {
            for reading in &mut readings {
                reading.given_way = self.given_way_to_loading(bound, reading.phase);
            }
        }
        readings
    }

    /// Whether the giving that a run is part of holds a load, once or again.
    pub(super) fn giving_holds_load(&self, phase: usize, run: usize) -> bool {
        let of_run = |piece: &Piece| piece.run() == Some((phase, run));
        let givings = self.givings().iter();
        givings
            .filter(|giving| giving.pieces.iter().any(of_run))
            .any(|giving| giving.pieces.iter().any(|piece| piece.is_load(self.order)))
    }

    /// Whether pieces hold a load that comes once.
    fn holds_load(&self, pieces: &[&Piece]) -> bool {
        let mut pieces = pieces.iter();
        pieces.any(|piece| piece.is_load(self.order) && !piece.comes_back())
    }

    /// For whom a limit `as loading` holds that a general one of its measure
    /// and side gives way to where a load is given: a `never` to a `never`
    /// alone.
    fn given_way_to_loading(&self, bound: &LimitBound, phase: usize) -> Vec<Stretch> {
        let limits = self.order.drug.as_ref().map(|drug| &drug.value.limits);
        let Some(spec) = self.order.phases.get(phase) else {
            return Vec::new();
        };
        let mut over = Vec::new();
        for other in limits.into_iter().flatten() {
            let alike = (other.measure, other.side) == (bound.measure, bound.side);
            if alike && is_as_loading(other) && (bound.usual || !other.usual) {
                let (when, except) = (&other.when, &other.except);
                let held = holds(self.order, spec, &self.view.patients, true, when, except);
                if held.asked.is_empty() {
                    over.extend(held.over);
                }
            }
        }
        over
    }

    /// The bag of a giving that hangs next, and the next ones: how much each
    /// gives.
    pub(super) fn next_bag(&self, bound: &LimitBound, giving: &Giving) -> Option<Reading> {
        let (phase, run) = giving.renewed()?;
        let succession = self.view.succession(self.order, phase, None)?;
        let crate::derive::Next::Renewed(renewal) = succession.next else {
            return None;
        };
        let delivery = self.delivery()?;
        let piece = giving.pieces.last()?;
        let per_volume = delivery.in_piece(piece, judged_by(bound));
        let amount = per_volume.and_then(|per_volume| renewal.volume.mul(&per_volume));
        let value = self.counted(bound, amount, &[piece]);
        Some(self.reading(phase, Some(run), value))
    }

    /// The time from one bag to the next of a giving that is renewed.
    pub(super) fn next_interval(&self, giving: &Giving) -> Option<Reading> {
        let (phase, run) = giving.renewed()?;
        let succession = self.view.succession(self.order, phase, None)?;
        Some(self.reading(phase, Some(run), Reads::Value(succession.lasts)))
    }

    fn reading(&self, phase: usize, run: Option<usize>, value: Reads) -> Reading {
        let runs = self.view.phases.get(phase).map(|phase| &phase.runs);
        let derived = runs.zip(run).and_then(|(runs, run)| runs.get(run));
        Reading {
            phase,
            phases: (phase, phase),
            load: self.is_load(phase) && self.comes_once(phase, run),
            span: derived.map_or(self.order.header, |run| run.span),
            at: At::Start,
            run,
            value,
            ends: None,
            given_way: Vec::new(),
        }
    }

    /// Whether a run is given once, and no load came before one.
    pub(super) fn comes_once(&self, phase: usize, run: Option<usize>) -> bool {
        let again = self.again.get_or_init(|| {
            let pieces = self.givings().iter().flat_map(|giving| &giving.pieces);
            let again = pieces.filter(|piece| piece.comes_back());
            again.filter_map(Piece::run).collect()
        });
        run.is_none_or(|run| !again.contains(&(phase, run)))
    }

    /// What a bound of an amount or a time says of pieces together: one reading
    /// for each phase that they are of, since its conditions may hold in one
    /// alone.
    pub(super) fn part(&self, bound: &LimitBound, part: &JudgedTogether<'_>) -> Vec<Reading> {
        let (Some(delivery), [first, .., last] | [first @ last]) =
            (self.delivery(), part.pieces.as_slice())
        else {
            return Vec::new();
        };
        let pieces = || part.pieces.iter().copied();
        // Only a limit that begins later asks when they end.
        let after = bound.when.after_first.as_ref();
        let ends = after.and_then(|_| delivery.ends(last));
        let value = match bound.form {
            // All boluses together, without what runs between them.
            LimitForm::Time if bound.measure == LimitMeasure::BolusTime => delivery
                .flowing(pieces())
                .map_or(Reads::Unknown(NotComparable::NotComputable), Reads::Value),
            LimitForm::Time => delivery
                .lasts(pieces())
                .map_or(Reads::Unknown(NotComparable::NotComputable), Reads::Value),
            LimitForm::Size(form) if form.stuff == Stuff::Volume => {
                self.per_patient(delivery.given(pieces(), Counted::Fluid, part.line), form)
            }
            _ => {
                let line = part.line && bound.side == Side::High;
                let amount = delivery.given(pieces(), judged_by(bound), line);
                self.counted(bound, amount, &part.pieces)
            }
        };
        let span = delivery.span_of(last);
        let run = last.run().map(|(_, run)| run);
        let mut readings: Vec<Reading> = Vec::new();
        for piece in part.pieces.iter().rev() {
            if readings.iter().any(|reading| reading.phase == piece.phase) {
                continue;
            }
            let same = piece.phase == last.phase;
            readings.push(Reading {
                phase: piece.phase,
                phases: (first.phase, last.phase),
                load: part.load,
                span,
                at: At::Start,
                run: run.filter(|_| same),
                value: value.clone(),
                ends: ends.clone(),
                given_way: Vec::new(),
            });
        }
        readings
    }

    /// Drug as the order's first bag counts it, in the bound's form.
    pub(super) fn counted(
        &self,
        bound: &LimitBound,
        amount: Option<Curve>,
        pieces: &[&Piece],
    ) -> Reads {
        if pieces.iter().any(|piece| self.is_apart(piece.phase)) {
            return Reads::Unknown(NotComparable::Equivalence);
        }
        match (bound.form, self.first_bag_of_drug()) {
            (LimitForm::Size(form), Some(first)) => self.drug(first, amount, form),
            _ => Reads::Unknown(NotComparable::NotComputable),
        }
    }

    /// The runs, by phase and place there, of the giving that a run is part of.
    pub(super) fn giving_with(&self, phase: usize, run: usize) -> Vec<(usize, usize)> {
        let runs =
            |giving: &Giving| -> Vec<_> { giving.pieces.iter().filter_map(Piece::run).collect() };
        let mut givings = self.givings().iter().map(runs);
        let giving = givings.find(|runs| runs.contains(&(phase, run)));
        giving.unwrap_or_default()
    }

    /// How long each giving lasts that is not all a load, nor renewed; `loads`:
    /// those too.
    pub(super) fn times(&self, bound: &LimitBound, loads: bool) -> Vec<Reading> {
        let ends = |giving: &&Giving| giving.renewed().is_none();
        let givings = self.givings().iter().filter(ends);
        givings
            .flat_map(|giving| self.time(bound, giving, loads))
            .collect()
    }

    /// How long one giving lasts; of one that is renewed without end, its first
    /// bag.
    pub(super) fn time(&self, bound: &LimitBound, giving: &Giving, loads: bool) -> Vec<Reading> {
        let pieces: Vec<_> = giving.pieces.iter().collect();
        let once = |piece: &&Piece| piece.is_load(self.order) && !piece.comes_back();
        let all = pieces.iter().all(once);
        if all && !loads {
            return Vec::new();
        }
        let holds_load = || pieces.iter().any(|piece| piece.is_load(self.order));
        let load = all || is_as_loading(bound) && holds_load();
        let part = JudgedTogether {
            pieces,
            load,
            line: false,
        };
        self.part(bound, &part)
    }
}
