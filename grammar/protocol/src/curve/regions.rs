//! Where one curve lies above or below another.

use gutta_quantity::Exact;

use super::algebra::walk;
use super::pieces::Curve;
use super::point::Point;

/// One end of a [`Region`].
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Edge {
    /// Where it is. If not `exact`, the true place is not rational, and this is
    /// its neighbour on the grid of 1/1000 just outside the region.
    pub x: Exact,
    /// Whether the region holds at `x` itself.
    pub included: bool,
    /// Whether `x` is the true place.
    pub exact: bool,
}

/// A stretch of the axis on which a statement holds: never smaller than the
/// true one. It may be a single number (both edges included). Two regions that
/// are parted by a number that is not rational overlap in its bracket.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Region {
    /// Where it begins.
    pub from: Edge,
    /// Where it ends, not below `from`.
    pub to: Edge,
}

/// Whether each of these regions lies within one of the others.
#[must_use]
pub fn covered(inner: &[Region], outer: &[Region]) -> bool {
    let within = |one: &Region| {
        let mut outer = outer.iter();
        outer.any(|other| other.from.x <= one.from.x && other.to.x >= one.to.x)
    };
    inner.iter().all(within)
}

impl Region {
    /// Whether `x` lies in it.
    #[must_use]
    pub fn contains(&self, x: &Exact) -> bool {
        let after = *x > self.from.x || (self.from.included && *x == self.from.x);
        let before = *x < self.to.x || (self.to.included && *x == self.to.x);
        after && before
    }
}

impl Curve {
    /// The maximal regions, rising, in which this curve lies strictly above
    /// `bound`, on the span that both cover (none where they share nothing).
    /// At a jump the upper piece's value counts, as in [`Curve::at`].
    ///
    /// `None` if it cannot be decided (a degree above 64: no order comes near
    /// it).
    #[must_use]
    pub fn where_above(&self, bound: &Self) -> Option<Vec<Region>> {
        self.where_sign(bound, 1)
    }

    /// The maximal regions in which this curve lies strictly below `bound`; see
    /// [`Curve::where_above`].
    #[must_use]
    pub fn where_below(&self, bound: &Self) -> Option<Vec<Region>> {
        self.where_sign(bound, -1)
    }

    fn where_sign(&self, bound: &Self, sign: i8) -> Option<Vec<Region>> {
        if let Some(ends) = self.ends_beside(bound)
            && ends.lo == ends.hi
        {
            let everywhere = ends.lo as i8 == sign;
            return Some(everywhere.then(|| self.whole()).into_iter().collect());
        }
        let Some((_, a, b)) = self.aligned(bound) else {
            return Some(Vec::new());
        };
        let mut collector = Collector {
            curve: &a,
            open: None,
            regions: Vec::new(),
        };
        let mut at_end = false;
        walk(&a, &b, |f, g, start, end| {
            let difference = f.sub(g)?;
            for (place, stretch) in difference.stretches(start, end).iter().enumerate() {
                // Between two stretches the difference is zero.
                let here = place == 0 && difference.sign_at(start) == sign;
                collector.turn(&stretch.start, here, stretch.sign == sign);
            }
            at_end = difference.sign_at(end) == sign;
            Some(())
        })?;
        collector.turn(&Point::At(a.span.hi().clone()), at_end, false);
        Some(collector.regions)
    }
}

impl Curve {
    /// All of the span.
    fn whole(&self) -> Region {
        let edge = |x: &Exact| Edge {
            x: x.clone(),
            included: true,
            exact: true,
        };
        Region {
            from: edge(self.span.lo()),
            to: edge(self.span.hi()),
        }
    }
}

/// Joins single numbers and the open stretches between them to regions.
struct Collector<'a> {
    curve: &'a Curve,
    /// Where the region that is open began, and whether that is included.
    open: Option<(Point, bool)>,
    regions: Vec<Region>,
}

impl Collector<'_> {
    /// At `place` the statement holds (`here`), and on the open stretch after
    /// it (`after`).
    fn turn(&mut self, place: &Point, here: bool, after: bool) {
        if here && after && self.open.is_some() {
            return;
        }
        if let Some((from, included)) = self.open.take() {
            self.close(&from, included, place, here);
        } else if here && !after {
            self.close(place, true, place, true);
        }
        if after {
            self.open = Some((place.clone(), here));
        }
    }

    fn close(&mut self, from: &Point, from_included: bool, to: &Point, to_included: bool) {
        let (low, _) = self.curve.bracket(from);
        let (_, high) = self.curve.bracket(to);
        let edge = |place: &Point, x: Exact, included: bool| Edge {
            x,
            included: included && place.exact().is_some(),
            exact: place.exact().is_some(),
        };
        self.regions.push(Region {
            from: edge(from, low, from_included),
            to: edge(to, high, to_included),
        });
    }
}
