//! Sums, products, quotients, the lower and the higher of two curves.
//!
//! Where two curves differ in span, the result covers what both cover.

use std::borrow::Cow;
use std::cmp::Ordering;

use gutta_quantity::{Exact, work};

use super::pieces::{Build, Curve, Interval};
use super::point::Point;
use super::rational::Rational;

impl Curve {
    /// The sum. `None` if the spans share nothing (or a degree above 64 would
    /// result: no order comes near it).
    #[must_use]
    pub fn add(&self, other: &Self) -> Option<Self> {
        self.combine(other, Rational::add)
    }

    /// The difference. `None` as for [`Curve::add`].
    #[must_use]
    pub fn sub(&self, other: &Self) -> Option<Self> {
        self.combine(other, Rational::sub)
    }

    /// The product. `None` as for [`Curve::add`].
    #[must_use]
    pub fn mul(&self, other: &Self) -> Option<Self> {
        self.combine(other, Rational::mul)
    }

    /// The quotient. `None` as for [`Curve::add`], and where the divisor is
    /// zero anywhere on the shared span, the ends and the limits at its jumps
    /// included.
    #[must_use]
    pub fn div(&self, other: &Self) -> Option<Self> {
        if let Some(number) = other.is_constant()
            && self.span == other.span
        {
            return Some(self.scale(&number.recip()?));
        }
        if let Some((f, g)) = self.plain_beside(other) {
            let zero = g.is_zero() || (g.power > 0 && self.span.lo().is_zero());
            let inverse = if zero { None } else { g.recip() };
            return Some(Self::single(self.span.clone(), f.mul(&inverse?)?));
        }
        // Only the shared part of the divisor counts.
        let divisor = other.restrict(&self.span)?;
        self.mul(&divisor.recip()?)
    }

    /// `1 / self`; `None` where the curve is zero anywhere on its span.
    #[must_use]
    pub fn recip(&self) -> Option<Self> {
        work::charge_each(self.pieces.len());
        if self.parts().any(|(piece, a, b)| piece.has_zero(&a, &b)) {
            return None;
        }
        Some(Self {
            span: self.span.clone(),
            pieces: self
                .pieces
                .iter()
                .map(Rational::recip)
                .collect::<Option<_>>()?,
            breaks: self.breaks.clone(),
        })
    }

    /// Times a number.
    #[must_use]
    pub fn scale(&self, factor: &Exact) -> Self {
        if *factor == Exact::ONE {
            return self.clone();
        }
        if factor.is_zero() {
            return Self::constant(self.span.clone(), Exact::ZERO);
        }
        work::charge_each(self.pieces.len());
        Self {
            span: self.span.clone(),
            pieces: self
                .pieces
                .iter()
                .map(|piece| piece.scale(factor))
                .collect(),
            breaks: self.breaks.clone(),
        }
    }

    /// With the sign turned.
    #[must_use]
    pub fn neg(&self) -> Self {
        self.scale(&Exact::int(-1))
    }

    /// The lower of the two at each number, with a piece's end at every
    /// crossing, rational or not. `None` as for [`Curve::add`].
    #[must_use]
    pub fn min(&self, other: &Self) -> Option<Self> {
        self.choose(other, 1)
    }

    /// The higher of the two at each number; see [`Curve::min`].
    #[must_use]
    pub fn max(&self, other: &Self) -> Option<Self> {
        self.choose(other, -1)
    }

    /// This curve where `sign · (self − other)` is not above zero, else the
    /// other.
    fn choose(&self, other: &Self, sign: i8) -> Option<Self> {
        work::charge(1);
        if let Some(ends) = self.ends_beside(other)
            && let Some(order) = ends.inside()
        {
            let chosen = if order as i8 * sign > 0 { other } else { self };
            return Some(chosen.clone());
        }
        let (span, a, b) = self.aligned(other)?;
        let mut build = Build::default();
        walk(&a, &b, |f, g, start, end| {
            for stretch in f.sub(g)?.stretches(start, end) {
                let chosen = if stretch.sign * sign > 0 { g } else { f };
                build.push(chosen.clone(), &stretch.start);
            }
            Some(())
        })?;
        build.finish(span)
    }

    fn combine(
        &self,
        other: &Self,
        operation: impl Fn(&Rational, &Rational) -> Option<Rational>,
    ) -> Option<Self> {
        work::charge(1);
        if let ([f], [g]) = (self.pieces.as_slice(), other.pieces.as_slice()) {
            let span = if self.span == other.span {
                self.span.clone()
            } else {
                self.span.intersect(&other.span)?
            };
            return Some(Self::single(span, operation(f, g)?));
        }
        let (span, a, b) = self.aligned(other)?;
        let mut build = Build::default();
        walk(&a, &b, |f, g, start, _| {
            build.push(operation(f, g)?, start);
            Some(())
        })?;
        build.finish(span)
    }

    /// The pieces of two curves over one span that are each a plain power of x.
    fn plain_beside<'a>(&'a self, other: &'a Self) -> Option<(&'a Rational, &'a Rational)> {
        let ([f], [g]) = (self.pieces.as_slice(), other.pieces.as_slice()) else {
            return None;
        };
        let plain = f.factor.is_none() && g.factor.is_none();
        (plain && self.span == other.span).then_some((f, g))
    }

    /// How two plain powers of x over one span above zero compare at its ends;
    /// `None` for all other curves. Above zero two of them meet at most once,
    /// and cross where they do, so that the ends tell of what lies between.
    pub(super) fn ends_beside(&self, other: &Self) -> Option<Ends> {
        let (f, g) = self.plain_beside(other)?;
        if !self.span.lo().is_positive() {
            return None;
        }
        if f.power == g.power {
            let both = f.coefficient.cmp(&g.coefficient);
            return Some(Ends { lo: both, hi: both });
        }
        let beside = |x: &Exact| Some(f.at(x)?.cmp(&g.at(x)?));
        Some(Ends {
            lo: beside(self.span.lo())?,
            hi: beside(self.span.hi())?,
        })
    }

    /// Both curves on the span that they share.
    pub(super) fn aligned<'a>(
        &'a self,
        other: &'a Self,
    ) -> Option<(Interval, Cow<'a, Self>, Cow<'a, Self>)> {
        if self.span == other.span {
            return Some((self.span.clone(), Cow::Borrowed(self), Cow::Borrowed(other)));
        }
        let span = self.span.intersect(&other.span)?;
        let (a, b) = (self.restrict(&span)?, other.restrict(&span)?);
        Some((span, Cow::Owned(a), Cow::Owned(b)))
    }
}

/// How one curve compares with another at the ends of their span.
#[derive(Clone, Copy)]
pub(super) struct Ends {
    pub(super) lo: Ordering,
    pub(super) hi: Ordering,
}

impl Ends {
    /// How it compares between them; `None` where the two cross there.
    fn inside(self) -> Option<Ordering> {
        match (self.lo, self.hi) {
            (Ordering::Equal, inside) | (inside, Ordering::Equal) => Some(inside),
            (lo, hi) => (lo == hi).then_some(lo),
        }
    }
}

/// Goes through the stretches on which both curves keep to one piece, with
/// those pieces and the stretch's ends. Both have the same span. `None` as soon
/// as a visit says so.
pub(super) fn walk(
    a: &Curve,
    b: &Curve,
    mut visit: impl FnMut(&Rational, &Rational, &Point, &Point) -> Option<()>,
) -> Option<()> {
    let (mut i, mut j) = (0, 0);
    let mut start = Point::At(a.span.lo().clone());
    while let (Some(f), Some(g)) = (a.pieces.get(i), b.pieces.get(j)) {
        work::charge(2);
        let (left, right) = (a.end_of(i), b.end_of(j));
        let order = left.cmp(&right);
        let end = if order == Ordering::Greater {
            right
        } else {
            left
        };
        visit(f, g, &start, &end)?;
        if order != Ordering::Greater {
            i += 1;
        }
        if order != Ordering::Less {
            j += 1;
        }
        start = end;
    }
    Some(())
}
