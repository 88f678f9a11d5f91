//! The curve itself: its pieces, where they meet, its value at a number.

use std::cmp::Ordering;

use gutta_quantity::{Exact, work};
use smallvec::{SmallVec, smallvec};

use super::point::Point;
use super::rational::Rational;

/// A closed interval on the axis, not below zero, perhaps a single number.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    lo: Exact,
    hi: Exact,
}

impl Interval {
    /// From `lo` to `hi`, both included; `None` unless `0 ≤ lo ≤ hi`.
    #[must_use]
    pub fn new(lo: Exact, hi: Exact) -> Option<Self> {
        (!lo.is_negative() && lo <= hi).then_some(Self { lo, hi })
    }

    /// The single number `x`; `None` below zero.
    #[must_use]
    pub fn point(x: Exact) -> Option<Self> {
        Self::new(x.clone(), x)
    }

    /// The lower end.
    #[must_use]
    pub fn lo(&self) -> &Exact {
        &self.lo
    }

    /// The upper end.
    #[must_use]
    pub fn hi(&self) -> &Exact {
        &self.hi
    }

    /// Whether it is a single number.
    #[must_use]
    pub fn is_point(&self) -> bool {
        self.lo == self.hi
    }

    /// Whether `x` lies in it, ends included.
    #[must_use]
    pub fn contains(&self, x: &Exact) -> bool {
        *x >= self.lo && *x <= self.hi
    }

    /// What two intervals share; `None` where that is nothing.
    #[must_use]
    pub(crate) fn intersect(&self, other: &Self) -> Option<Self> {
        Self::new(
            self.lo.clone().max(other.lo.clone()),
            self.hi.clone().min(other.hi.clone()),
        )
    }
}

/// An exact function of one variable over a closed [`Interval`], made of
/// quotients of polynomials.
///
/// Pieces may meet with a jump (values by weight band): the value at the shared
/// number is then the upper piece's. Two curves that are the same function in the
/// same pieces are equal.
#[derive(Clone, PartialEq, Eq)]
pub struct Curve {
    pub(super) span: Interval,
    /// One more than there are breaks; neighbours differ.
    pub(super) pieces: SmallVec<[Rational; 1]>,
    /// Where pieces meet, rising, strictly inside the span.
    pub(super) breaks: Vec<Point>,
}

impl Curve {
    /// The same value everywhere.
    #[must_use]
    pub fn constant(span: Interval, value: Exact) -> Self {
        Self::single(span, Rational::constant(value))
    }

    /// The variable itself.
    #[must_use]
    pub fn identity(span: Interval) -> Self {
        Self::single(span, Rational::monomial(Exact::ONE, 1))
    }

    /// `coefficient · x`.
    #[cfg(test)]
    #[must_use]
    pub(crate) fn proportional(span: Interval, coefficient: Exact) -> Self {
        Self::single(span, Rational::monomial(coefficient, 1))
    }

    /// Curves one after the other: each begins where the one before ends, and
    /// at a number that two share the later one's value holds. `None` if there
    /// is no curve, if two do not meet, or if one of several spans a single
    /// number.
    #[cfg(test)]
    #[must_use]
    pub(crate) fn piecewise(parts: impl IntoIterator<Item = Self>) -> Option<Self> {
        let mut parts = parts.into_iter();
        let first = parts.next()?;
        parts.try_fold(first, |whole, part| whole.concat(&part))
    }

    /// This curve, and `next` from where this one ends: at the number that two
    /// share the later one's value holds. `None` if they do not meet, or if one
    /// spans a single number.
    #[must_use]
    pub fn concat(&self, next: &Self) -> Option<Self> {
        if self.span.hi != next.span.lo || self.span.is_point() || next.span.is_point() {
            return None;
        }
        work::charge_each(self.pieces.len() + next.pieces.len());
        let mut build = Build::default();
        for curve in [self, next] {
            for (piece, start, _) in curve.parts() {
                build.push(piece.clone(), &start);
            }
        }
        build.finish(Interval {
            lo: self.span.lo.clone(),
            hi: next.span.hi.clone(),
        })
    }

    pub(super) fn single(span: Interval, piece: Rational) -> Self {
        Self {
            span,
            pieces: smallvec![piece],
            breaks: Vec::new(),
        }
    }

    /// Where the curve is defined.
    #[must_use]
    pub fn span(&self) -> &Interval {
        &self.span
    }

    /// The value at `x`, the upper piece's where two meet; `None` outside the
    /// span.
    #[must_use]
    pub fn at(&self, x: &Exact) -> Option<Exact> {
        self.right_limit(x)
    }

    /// What the values tend to from above: at the span's upper end the value
    /// there. `None` outside the span.
    #[must_use]
    pub(crate) fn right_limit(&self, x: &Exact) -> Option<Exact> {
        if !self.span.contains(x) {
            return None;
        }
        let below = |place: &Point| place.cmp_exact(x) != Ordering::Greater;
        let index = self.breaks.partition_point(below);
        self.pieces.get(index)?.at(x)
    }

    /// What the values tend to from below: at the span's lower end the value
    /// there. `None` outside the span.
    #[cfg(test)]
    #[must_use]
    pub(crate) fn left_limit(&self, x: &Exact) -> Option<Exact> {
        if !self.span.contains(x) {
            return None;
        }
        let below = |place: &Point| place.cmp_exact(x) == Ordering::Less;
        let index = self.breaks.partition_point(below);
        self.pieces.get(index)?.at(x)
    }

    /// The value, where it is the same on the whole span.
    #[must_use]
    pub fn is_constant(&self) -> Option<&Exact> {
        match self.pieces.as_slice() {
            [only] => only.as_constant(),
            _ => None,
        }
    }

    /// Both ends of the span and every corner or jump between, rising. A place
    /// that is not rational gives both its neighbours on the grid of 1/1000
    /// (within the span).
    #[must_use]
    pub fn breaks(&self) -> Vec<Exact> {
        let mut all = Vec::with_capacity(self.breaks.len() + 2);
        all.push(self.span.lo.clone());
        for place in &self.breaks {
            let (low, high) = self.bracket(place);
            all.push(low);
            all.push(high);
        }
        all.push(self.span.hi.clone());
        all.sort();
        all.dedup();
        all
    }

    /// The places where pieces meet with a jump, rising. (At a corner that is
    /// not rational two pieces always agree.)
    #[cfg(test)]
    #[must_use]
    pub(crate) fn jumps(&self) -> Vec<Exact> {
        self.breaks
            .iter()
            .filter_map(Point::exact)
            .filter(|x| self.left_limit(x) != self.right_limit(x))
            .cloned()
            .collect()
    }

    /// The curve on the part of its span that lies in `interval`; `None` if
    /// they share nothing. Cut at a jump, the part below keeps its own value
    /// there.
    #[must_use]
    pub fn restrict(&self, interval: &Interval) -> Option<Self> {
        if *interval == self.span {
            return Some(self.clone());
        }
        let span = self.span.intersect(interval)?;
        if self.breaks.is_empty() {
            return Some(Self {
                span,
                ..self.clone()
            });
        }
        if span.is_point() {
            let inside = self.breaks.iter();
            let index = inside
                .take_while(|place| place.cmp_exact(&span.lo) != Ordering::Greater)
                .count();
            let piece = self.pieces.get(index)?.clone();
            return Some(Self::single(span, piece));
        }
        work::charge_each(self.pieces.len());
        let mut build = Build::default();
        for (piece, start, end) in self.parts() {
            let starts_before_end = start.cmp_exact(&span.hi) == Ordering::Less;
            let ends_after_start = end.cmp_exact(&span.lo) == Ordering::Greater;
            if starts_before_end && ends_after_start {
                build.push(piece.clone(), &start);
            }
        }
        build.finish(span)
    }

    /// Each piece with its start and end.
    pub(super) fn parts(&self) -> impl DoubleEndedIterator<Item = (&Rational, Point, Point)> {
        self.pieces.iter().enumerate().map(|(index, piece)| {
            let start = index
                .checked_sub(1)
                .and_then(|before| self.breaks.get(before).cloned())
                .unwrap_or_else(|| Point::At(self.span.lo.clone()));
            (piece, start, self.end_of(index))
        })
    }

    /// Where the piece of this index ends.
    pub(super) fn end_of(&self, index: usize) -> Point {
        self.breaks
            .get(index)
            .cloned()
            .unwrap_or_else(|| Point::At(self.span.hi.clone()))
    }

    /// The place, or its neighbours on the grid of 1/1000 within the span.
    pub(super) fn bracket(&self, place: &Point) -> (Exact, Exact) {
        let (low, high) = place.bracket();
        (
            low.max(self.span.lo.clone()),
            high.min(self.span.hi.clone()),
        )
    }
}

/// Collects pieces in rising order, joining equal neighbours.
#[derive(Default)]
pub(super) struct Build {
    pieces: SmallVec<[Rational; 1]>,
    breaks: Vec<Point>,
}

impl Build {
    /// Adds the piece that begins at `start`.
    pub(super) fn push(&mut self, piece: Rational, start: &Point) {
        match self.pieces.last() {
            Some(last) if *last == piece => return,
            Some(_) => self.breaks.push(start.clone()),
            None => {}
        }
        self.pieces.push(piece);
    }

    /// The curve; `None` without a piece.
    pub(super) fn finish(self, span: Interval) -> Option<Curve> {
        (!self.pieces.is_empty()).then_some(Curve {
            span,
            pieces: self.pieces,
            breaks: self.breaks,
        })
    }
}
