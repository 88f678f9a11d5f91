//! Givings: what one patient gets from the first drop until the drug has
//! stopped.

use gutta_quantity::Exact;
use rustc_hash::FxHashSet;

use super::{Counted, Delivery, Piece, Repeats, Source, Stays, from_first_to_last, times};
use crate::curve::Curve;
use crate::derive::View;
use crate::model::order::Again;

/// Where a drug states no interval, what follows after less than this without
/// it is the same giving (a local figure; base units of time).
const NEAR: i64 = 60;

/// One giving of the drug: pieces that follow one another without a gap, or
/// nearer to one another than two givings may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Giving {
    /// What it is made of, in order; never empty. A piece whose repetitions are
    /// one giving is here once, with all that they give.
    pub pieces: Vec<Piece>,
    /// From start to start, and how often in all.
    pub every: Repeats,
}

impl Delivery<'_> {
    /// The givings of the drug, in order. `apart` is the shortest time that
    /// the drug's reference allows between the starts of two.
    #[must_use]
    pub fn givings(&self, apart: Option<&Exact>) -> Vec<Giving> {
        let mut givings: Vec<Giving> = Vec::new();
        // Where the first time of what comes again is part of the giving before.
        let mut first: Option<usize> = None;
        for piece in self.drug_pieces(apart) {
            let every = piece.every.clone();
            let at = givings.len().saturating_sub(1);
            let before = givings.last_mut();
            match before.and_then(|giving| self.joined(giving, &piece, apart)) {
                Some(Joined::Same(giving)) => {
                    giving.pieces.push(piece.clone());
                    if giving.every.is_none() && every.is_some() {
                        // What comes once before what comes again: they are the
                        // first giving together, and what comes again is the
                        // next ones.
                        givings.push(Giving::of(piece));
                        first = Some(at);
                    } else if let Some(first) = first.and_then(|first| givings.get_mut(first)) {
                        first.pieces.push(piece);
                    }
                }
                Some(Joined::Last(mut pieces)) => {
                    pieces.push(piece.clone());
                    let every = None;
                    givings.push(Giving { pieces, every });
                    first = None;
                    if piece.every.is_some() {
                        givings.push(Giving::of(piece));
                        first = Some(at + 1);
                    }
                }
                None => {
                    givings.push(Giving::of(piece));
                    first = None;
                }
            }
        }
        for giving in &mut givings {
            for boluses in leading_boluses(&mut giving.pieces) {
                boluses.sort_by_key(|piece| match piece.source {
                    Source::Bolus(place) => place,
                    _ => 0,
                });
            }
        }
        self.mark_later_loads(&mut givings);
        givings
    }

    /// A load that another came before is judged by everything, as one that is
    /// repeated is.
    fn mark_later_loads(&self, givings: &mut [Giving]) {
        let is_load = |piece: &Piece| piece.is_load(self.order);
        let first = givings.iter().position(|of| of.pieces.iter().any(is_load));
        let Some(first) = first else { return };
        let known = givings.iter().take(first + 1).flat_map(|of| &of.pieces);
        let known: FxHashSet<_> = known.map(|piece| (piece.phase, piece.source)).collect();
        for giving in givings.iter_mut().skip(first + 1) {
            for piece in &mut giving.pieces {
                let again = known.contains(&(piece.phase, piece.source));
                if is_load(piece) && piece.again == Again::Once && !again {
                    piece.again = Again::AfterAnother;
                }
            }
        }
    }

    /// The pieces of the drug. Where it states no interval, repetitions with
    /// less than an hour between them are one.
    fn drug_pieces(&self, apart: Option<&Exact>) -> Vec<Piece> {
        let pieces = self.pieces.iter().filter(|piece| piece.is_drug(self.view));
        let mut pieces: Vec<_> = pieces.cloned().collect();
        // Those boluses before a run that come once are part of its first time,
        // whichever is written first.
        for boluses in leading_boluses(&mut pieces) {
            boluses.sort_by_key(|piece| piece.every.is_some());
        }
        if apart.is_some() {
            return pieces;
        }
        let alike =
            |one: &Piece, other: &Piece| one.phase == other.phase && one.every == other.every;
        for group in pieces.chunk_by_mut(alike) {
            self.as_one(group);
        }
        pieces
    }

    /// Makes repetitions that are near one another one.
    fn as_one(&self, group: &mut [Piece]) -> Option<()> {
        let (first, last) = (group.first()?, group.last()?);
        let (interval, count) = first.every.clone()?;
        let later = from_first_to_last(&first.every)?;
        let count = Exact::from(i64::from(count?));
        let patients = &self.view.patients;
        let next = first.start.add(&patients.constant(interval))?;
        let gap = next.sub(&last.start.add(last.time.as_ref()?)?)?;
        if gap.min_value()?.value >= Exact::from(NEAR) {
            return None;
        }
        let later = patients.constant(later);
        for piece in group {
            piece.time = Some(piece.time.as_ref()?.add(&later)?);
            piece.volume = Some(piece.volume.as_ref()?.scale(&count));
            piece.every = None;
        }
        Some(())
    }

    /// How a piece belongs to what was given before it; `None`: not at all.
    fn joined<'g>(
        &self,
        giving: &'g mut Giving,
        piece: &Piece,
        apart: Option<&Exact>,
    ) -> Option<Joined<'g>> {
        let last = giving.pieces.last()?;
        if last.phase == piece.phase && (last.every == piece.every || last.every.is_none()) {
            // A bolus each time, and the run that it goes with.
            return Some(Joined::Same(giving));
        }
        if giving.every.is_none() {
            let goes_on = goes_on(&giving.pieces, piece, apart);
            return goes_on.then_some(Joined::Same(giving));
        }
        let later = self
            .view
            .patients
            .constant(from_first_to_last(&giving.every)?);
        let of_last = giving.pieces.iter().map(|piece| {
            let start = piece.start.add(&later)?;
            let piece = piece.clone();
            Some(Piece { start, ..piece })
        });
        let of_last: Vec<_> = of_last.collect::<Option<_>>()?;
        goes_on(&of_last, piece, apart).then_some(Joined::Last(of_last))
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
        if let Some(lost) = self.lost(pieces.clone(), counted)? {
            sum = sum.sub(&lost)?;
        }
        for pushed in self.pushed.iter().filter(|_| line) {
            let bag = bag_of(pushed.phase);
            let mut own = pieces.clone().filter(|piece| bag_of(piece.phase) == bag);
            let times = match own.clone().any(Piece::is_all_repetitions) {
                true => times(&pushed.every).unwrap_or(1),
                false => 1,
            };
            let is_own = own.next().is_some();
            if let Some(per_volume) = self.in_pushed(pushed, counted).filter(|_| is_own) {
                let once = pushed.volume.mul(&per_volume)?;
                sum = sum.add(&once.scale(&Exact::from(i64::from(times))))?;
            }
        }
        Some(sum)
    }

    /// What of these pieces stays in the line at the end of the order, where it
    /// is a lower bound that counts.
    pub(super) fn lost<'p>(
        &self,
        pieces: impl Iterator<Item = &'p Piece>,
        counted: Counted<'_>,
    ) -> Option<Option<Curve>> {
        let asked = |_: &&Stays| counted.is_for_lower_bound();
        let Some(stays) = self.stays.as_ref().filter(asked) else {
            return Some(None);
        };
        let in_bag = |piece: &&Piece| {
            let phase = self.view.phases.get(piece.phase);
            phase.is_some_and(|phase| phase.bag.phase == stays.phase)
        };
        let (mut run, mut per_volume) = (self.view.patients.constant(Exact::ZERO), None);
        for piece in pieces.filter(in_bag).filter(|piece| piece.every.is_none()) {
            let Some(volume) = &piece.volume else {
                return Some(None);
            };
            run = run.add(volume)?;
            per_volume = self.in_piece(piece, counted).or(per_volume);
        }
        let Some(per_volume) = per_volume else {
            return Some(None);
        };
        Some(Some(stays.volume.min(&run)?.mul(&per_volume)?))
    }

    /// The volume of a piece up to the end of the bag that hangs as it begins.
    pub(crate) fn volume_once(&self, piece: &Piece) -> Option<Curve> {
        match piece.run() {
            Some((phase, run)) if piece.again == Again::Renewed => {
                let run = self.view.phases.get(phase)?.runs.get(run)?;
                Some(run.volume.clone())
            }
            // A bag kept open in which nothing is left.
            _ => match &piece.volume {
                Some(volume) => Some(volume.clone()),
                None => Some(self.view.patients.constant(Exact::ZERO)),
            },
        }
    }

    /// How long a piece lasts, up to the end of the bag that hangs as it begins.
    pub(crate) fn time_once(&self, piece: &Piece) -> Option<Curve> {
        match piece.run() {
            Some((phase, run)) if piece.again == Again::Renewed => {
                let run = self.view.phases.get(phase)?.runs.get(run)?;
                Some(run.time.clone())
            }
            _ => piece.time.clone(),
        }
    }

    /// How long these pieces flow, all together; of one that is renewed without
    /// end, its first bag. `None` where it cannot be computed.
    #[must_use]
    pub(crate) fn flowing<'p>(&self, pieces: impl Iterator<Item = &'p Piece>) -> Option<Curve> {
        let mut sum = self.view.patients.constant(Exact::ZERO);
        for piece in pieces {
            let time = piece.time.clone().or_else(|| self.time_once(piece));
            if let Some(time) = time {
                sum = sum.add(&time)?;
            }
        }
        Some(sum)
    }

    /// From the start of the first of these pieces to the end of the last; of
    /// one that is renewed without end, of its first bag. `None` where it
    /// cannot be computed.
    #[must_use]
    pub fn lasts<'p>(&self, mut pieces: impl Iterator<Item = &'p Piece>) -> Option<Curve> {
        let first = pieces.next()?;
        let last = pieces.last().unwrap_or(first);
        let time = match &last.time {
            Some(time) => time.clone(),
            None => self
                .time_once(last)
                .unwrap_or_else(|| self.view.patients.constant(Exact::ZERO)),
        };
        if first.start == last.start {
            return Some(time);
        }
        last.start.add(&time)?.sub(&first.start)
    }
}

impl Piece {
    /// Whether it stands for repetitions that are one giving.
    fn is_all_repetitions(&self) -> bool {
        self.again == Again::Repeated && self.every.is_none()
    }
}

impl Giving {
    /// One that is made of a piece, and comes as often.
    fn of(piece: Piece) -> Self {
        Self {
            every: piece.every.clone(),
            pieces: vec![piece],
        }
    }

    /// When it starts for the last time; `None`: it never does, or it cannot be
    /// computed.
    #[must_use]
    pub(crate) fn last_start(&self, view: &View) -> Option<Curve> {
        let first = self.pieces.iter().map(|piece| &piece.start);
        let first = first
            .cloned()
            .reduce(|one, other| one.min(&other).unwrap_or(one))?;
        let later = view.patients.constant(from_first_to_last(&self.every)?);
        first.add(&later)
    }

    /// Its run whose bag is renewed, without end or for a time, by its phase
    /// and place there.
    #[must_use]
    pub fn renewed(&self) -> Option<(usize, usize)> {
        let last = self.pieces.last()?;
        (last.again == Again::Renewed).then(|| last.run())?
    }

    /// Whether it comes to an end.
    #[must_use]
    pub(crate) fn has_end(&self) -> bool {
        self.pieces.iter().all(|piece| piece.volume.is_some())
    }
}

/// The boluses of each phase before its first run.
fn leading_boluses(pieces: &mut [Piece]) -> impl Iterator<Item = &mut [Piece]> {
    let is_bolus = |piece: &Piece| matches!(piece.source, Source::Bolus(_));
    let phases = pieces.chunk_by_mut(|one, other| one.phase == other.phase);
    phases.map(move |phase| {
        let count = phase.iter().take_while(|piece| is_bolus(piece)).count();
        phase.split_at_mut(count).0
    })
}

/// How a piece belongs to what was given before it.
enum Joined<'g> {
    /// To that giving.
    Same(&'g mut Giving),
    /// To the last repetition of it: these pieces.
    Last(Vec<Piece>),
}

/// Whether a piece of another phase follows these without a gap, or nearer than
/// two givings may be.
fn goes_on(pieces: &[Piece], piece: &Piece, apart: Option<&Exact>) -> bool {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
        return false;
    };
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
