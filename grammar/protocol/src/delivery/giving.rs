//! Givings: what one patient gets from the first drop until the drug has
//! stopped.

use gutta_quantity::Exact;

use super::{Counted, Delivery, Piece, Repeats};
use crate::curve::Curve;
use crate::model::order::ThenSpec;

/// Where a drug states no interval, what follows after less than this without
/// it is the same giving (a local figure; base units of time).
const NEAR: i64 = 60;

/// One giving of the drug: pieces that follow one another without a gap, or
/// nearer to one another than two givings may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Giving {
    /// Its pieces, by their places in the delivery, in order; never empty.
    pub pieces: Vec<usize>,
    /// From start to start, and how often in all.
    pub every: Repeats,
}

impl Delivery<'_> {
    /// The givings of the drug, in order. `apart` is the shortest time that
    /// the drug's reference allows between the starts of two.
    #[must_use]
    pub fn givings(&self, apart: Option<&Exact>) -> Vec<Giving> {
        let mut givings: Vec<Giving> = Vec::new();
        for (place, piece) in self.pieces.iter().enumerate() {
            if !piece.is_drug(self.view) {
                continue;
            }
            let last = givings.last_mut();
            let before = last.filter(|giving| self.goes_on(giving, piece, apart));
            // What comes once before what comes again: they are the first
            // giving together, and what comes again is the next ones.
            let repeats = match before {
                Some(giving) => {
                    giving.pieces.push(place);
                    giving.every.is_none() && piece.every.is_some()
                }
                None => true,
            };
            if repeats {
                givings.push(Giving {
                    pieces: vec![place],
                    every: piece.every.clone(),
                });
            }
        }
        givings
    }

    /// The pieces of a giving.
    pub fn pieces_of<'s>(&'s self, giving: &'s Giving) -> impl Iterator<Item = &'s Piece> {
        let places = giving.pieces.iter();
        places.filter_map(|place| self.pieces.get(*place))
    }

    /// Whether a piece belongs to the giving before it.
    fn goes_on(&self, giving: &Giving, piece: &Piece, apart: Option<&Exact>) -> bool {
        let mut pieces = self.pieces_of(giving);
        let Some(first) = pieces.next() else {
            return false;
        };
        let last = pieces.last().unwrap_or(first);
        if last.phase == piece.phase {
            // A bolus each time, and the run that it goes with.
            return last.every == piece.every || last.every.is_none();
        }
        if last.every.is_some() {
            return false;
        }
        let Some(time) = &last.time else { return true };
        let gap = || piece.start.sub(&last.start.add(time)?);
        let without = gap().is_some_and(|gap| gap.is_constant() == Some(&Exact::ZERO));
        let (between, least) = match apart {
            _ if without => return true,
            Some(apart) => (piece.start.sub(&first.start), apart.clone()),
            None => (gap(), Exact::from(NEAR)),
        };
        let shortest = between.and_then(|between| between.min_value());
        shortest.is_none_or(|shortest| shortest.value < least)
    }

    /// All that these pieces of the drug give, once, with what is pushed out of
    /// the line after them where `line` says so. Of a piece that is renewed,
    /// what runs from its first bag. `None` where it cannot be computed.
    #[must_use]
    pub fn given<'p>(
        &self,
        pieces: impl Iterator<Item = &'p Piece> + Clone,
        counted: Counted<'_>,
        line: bool,
    ) -> Option<Curve> {
        let mut sum = self.view.patients.constant(Exact::ZERO);
        for piece in pieces.clone() {
            if let Some(per_volume) = self.in_piece(piece, counted) {
                let volume = match &piece.volume {
                    Some(volume) => volume.clone(),
                    None => self.volume_once(piece)?,
                };
                sum = sum.add(&volume.mul(&per_volume)?)?;
            }
        }
        let bag_of = |phase: usize| Some(self.view.phases.get(phase)?.bag.phase);
        for pushed in self.pushed.iter().filter(|_| line) {
            let bag = bag_of(pushed.phase);
            let is_own = pieces.clone().any(|piece| bag_of(piece.phase) == bag);
            if let Some(per_volume) = self.in_pushed(pushed, counted).filter(|_| is_own) {
                sum = sum.add(&pushed.volume.mul(&per_volume)?)?;
            }
        }
        Some(sum)
    }

    /// The volume of a piece up to the end of the bag that hangs as it begins.
    pub(crate) fn volume_once(&self, piece: &Piece) -> Option<Curve> {
        match piece.run() {
            Some((phase, run)) => {
                let run = self.view.phases.get(phase)?.runs.get(run)?;
                Some(run.volume.clone())
            }
            // A bag kept open in which nothing is left.
            None => match &piece.volume {
                Some(volume) => Some(volume.clone()),
                None => Some(self.view.patients.constant(Exact::ZERO)),
            },
        }
    }

    /// From the start of the first of these pieces to the end of the last; of
    /// one that is renewed, of its first bag. `None` where it cannot be
    /// computed.
    #[must_use]
    pub fn lasts<'p>(&self, mut pieces: impl Iterator<Item = &'p Piece>) -> Option<Curve> {
        let first = pieces.next()?;
        let last = pieces.last().unwrap_or(first);
        let time = match (&last.time, last.run()) {
            (Some(time), _) => time.clone(),
            (None, Some((phase, run))) => self.view.phases.get(phase)?.runs.get(run)?.time.clone(),
            (None, None) => self.view.patients.constant(Exact::ZERO),
        };
        if first.start == last.start {
            return Some(time);
        }
        last.start.add(&time)?.sub(&first.start)
    }

    /// The run of a giving whose bag is renewed, without end or for a time.
    #[must_use]
    pub fn renewed(&self, giving: &Giving) -> Option<(usize, usize)> {
        let (phase, run) = self.pieces_of(giving).last()?.run()?;
        let spec = self.order.phases.get(phase)?;
        let renews = matches!(&spec.then, Some((ThenSpec::Renew(_), _)));
        let is_last = phase + 1 == self.order.phases.len() && run + 1 == spec.runs.len();
        (renews && is_last && giving.every.is_none()).then_some((phase, run))
    }
}
