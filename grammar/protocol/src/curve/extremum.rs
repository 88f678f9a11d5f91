//! The least and the greatest value of a curve.

use gutta_quantity::{Exact, work};

use super::pieces::Curve;
use super::point::Point;

/// The least or greatest value of a curve.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Extremum {
    /// Where it is, the lowest such place. If not `exact`, a neighbour of the
    /// true place on the grid of 1/1000.
    pub x: Exact,
    /// The value. If not `exact`, a close bound: never below the true greatest,
    /// never above the true least value.
    pub value: Exact,
    /// Whether the curve takes the value at `x`: not where it only tends to it
    /// from below a jump, nor where not `exact`.
    pub attained: bool,
    /// Whether place and value are the true ones: always, unless the place is
    /// not a rational number.
    pub exact: bool,
}

impl Curve {
    /// The least value. `None` only for a curve that cannot be evaluated, which
    /// the constructors never give.
    #[must_use]
    pub fn min_value(&self) -> Option<Extremum> {
        if let Some((lo, hi)) = self.plain_ends() {
            return Some(if hi.value < lo.value { hi } else { lo });
        }
        let mut extremum = self.neg().max_value()?;
        extremum.value = -&extremum.value;
        Some(extremum)
    }

    /// The greatest value; see [`Curve::min_value`].
    #[must_use]
    pub fn max_value(&self) -> Option<Extremum> {
        if let Some((lo, hi)) = self.plain_ends() {
            return Some(if hi.value > lo.value { hi } else { lo });
        }
        let mut best: Option<Extremum> = None;
        for (piece, start, end) in self.parts() {
            work::charge(2);
            let last = end.cmp_exact(self.span.hi()).is_eq();
            // Inside a piece the greatest value is where a rise ends.
            let mut before = 0;
            for stretch in piece.trends(&start, &end) {
                let place = &stretch.start;
                if before > 0 {
                    self.consider(&mut best, place, piece.bounds_at(place)?.1, true);
                } else if *place == start {
                    self.consider(&mut best, &start, piece.bounds_at(&start)?.1, true);
                }
                before = stretch.sign;
            }
            self.consider(&mut best, &end, piece.bounds_at(&end)?.1, last);
        }
        best
    }

    /// The values at both ends of a plain power of x, which has no turn.
    fn plain_ends(&self) -> Option<(Extremum, Extremum)> {
        let [only] = self.pieces.as_slice() else {
            return None;
        };
        if only.factor.is_some() {
            return None;
        }
        let end = |x: &Exact| {
            Some(Extremum {
                x: x.clone(),
                value: only.at(x)?,
                attained: true,
                exact: true,
            })
        };
        Some((end(self.span.lo())?, end(self.span.hi())?))
    }

    fn consider(&self, best: &mut Option<Extremum>, place: &Point, value: Exact, attained: bool) {
        if let Some(best) = best
            && (value < best.value || (value == best.value && (best.attained || !attained)))
        {
            return;
        }
        let exact = place.exact().is_some();
        *best = Some(Extremum {
            x: self.bracket(place).0,
            value,
            attained: attained && exact,
            exact,
        });
    }
}
