//! Where a curve passes the edges of rounding.

use gutta_quantity::Exact;

use super::pieces::Curve;
use super::point::Point;
use super::rational::Rational;

/// Whether a curve rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trend {
    /// Strictly rising.
    Rising,
    /// Strictly falling.
    Falling,
    /// The same value throughout.
    Level,
}

/// A stretch on which a curve keeps its trend.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct MonotonePiece {
    /// Where it begins. If not rational, its neighbour below on the grid of
    /// 1/1000.
    pub lo: Exact,
    /// Where it ends. If not rational, its neighbour above on the grid of
    /// 1/1000.
    pub hi: Exact,
    /// What the curve does between.
    pub trend: Trend,
    /// Whether both places are the true ones.
    pub exact: bool,
}

/// A place at which a curve's value is half-way between two steps.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct StepEdge {
    /// Where, or its neighbour below on the grid of 1/1000.
    pub lo: Exact,
    /// Where, or its neighbour above on the grid of 1/1000: the same as `lo`
    /// where the place is rational.
    pub hi: Exact,
    /// The value there, exact in any case.
    pub value: Exact,
}

/// The edges of a curve's rounding to steps.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct StepEdges {
    /// The edges, rising.
    pub edges: Vec<StepEdge>,
    /// Whether there are more than were asked for.
    pub truncated: bool,
}

/// A monotone stretch between two points.
struct Run<'a> {
    piece: &'a Rational,
    start: Point,
    end: Point,
    trend: Trend,
}

impl Curve {
    /// The stretches on which the curve rises, falls or stays, in order. A span
    /// of a single number is level.
    #[must_use]
    pub fn monotone_pieces(&self) -> Vec<MonotonePiece> {
        self.runs()
            .map(|run| MonotonePiece {
                lo: self.bracket(&run.start).0,
                hi: self.bracket(&run.end).1,
                trend: run.trend,
                exact: run.start.exact().is_some() && run.end.exact().is_some(),
            })
            .collect()
    }

    fn runs(&self) -> impl Iterator<Item = Run<'_>> {
        self.parts().flat_map(|(piece, start, end)| {
            let stretches = piece.trends(&start, &end);
            let ends = stretches
                .iter()
                .skip(1)
                .map(|next| next.start.clone())
                .chain([end])
                .collect::<Vec<_>>();
            stretches
                .into_iter()
                .zip(ends)
                .map(move |(stretch, end)| Run {
                    piece,
                    start: stretch.start,
                    end,
                    trend: match stretch.sign {
                        0 => Trend::Level,
                        1.. => Trend::Rising,
                        _ => Trend::Falling,
                    },
                })
        })
    }

    /// The places, at most `most` of them from below, at which the value is
    /// `offset + (n + 1/2) · step` with a whole `n`: where rounding to the steps
    /// from `offset` turns. `step` must be above zero, else there are none.
    /// Level stretches have no edges; ends and breaks count where the value
    /// there lies on an edge.
    #[must_use]
    pub fn step_edges(&self, step: &Exact, offset: &Exact, most: usize) -> StepEdges {
        let mut found = StepEdges::default();
        if !step.is_positive() {
            return found;
        }
        let half = Exact::ratio(1, 2).unwrap_or_default();
        let first = offset + &(step * &half);
        for run in self.runs() {
            let ends = (
                run.piece.bounds_at(&run.start),
                run.piece.bounds_at(&run.end),
            );
            let (low, high) = match (run.trend, ends) {
                (Trend::Rising, (Some(start), Some(end))) => (start.0, end.1),
                (Trend::Falling, (Some(start), Some(end))) => (end.0, start.1),
                _ => continue,
            };
            let index = |value: &Exact| (value - &first).checked_div(step);
            let (Some(low), Some(high)) = (index(&low), index(&high)) else {
                continue;
            };
            let value_at = |count: &Exact| &first + &(step * count);
            let (low, high) = run.narrowed(low.ceil(), high.floor(), value_at);
            let rising = run.trend == Trend::Rising;
            let mut count = if rising { low.clone() } else { high.clone() };
            let by = Exact::int(if rising { 1 } else { -1 });
            while count >= low && count <= high {
                let value = value_at(&count);
                count = &count + &by;
                // Every value between is taken: where none is found, the
                // function cannot be solved for any.
                let Some(place) = run.place_of(&value) else {
                    break;
                };
                let (lo, hi) = self.bracket(&place);
                let edge = StepEdge { lo, hi, value };
                if found.edges.last() == Some(&edge) {
                    continue;
                }
                if found.edges.len() >= most {
                    found.truncated = true;
                    return found;
                }
                found.edges.push(edge);
            }
        }
        found
    }
}

impl Run<'_> {
    /// The whole numbers from `low` to `high` whose values are taken in the
    /// stretch. At an end that is not rational the value is known by bounds
    /// alone, which lie far from it where the function is steep.
    fn narrowed(
        &self,
        low: Exact,
        high: Exact,
        value_at: impl Fn(&Exact) -> Exact,
    ) -> (Exact, Exact) {
        if self.start.exact().is_some() && self.end.exact().is_some() {
            return (low, high);
        }
        let (least, greatest) = match self.trend {
            Trend::Falling => (&self.end, &self.start),
            Trend::Rising | Trend::Level => (&self.start, &self.end),
        };
        // The function less the value: its sign says which is more.
        let sign = |count: &Exact, at: &Point| {
            let value = Rational::constant(value_at(count));
            self.piece.sub(&value).map_or(0, |rest| rest.sign_at(at))
        };
        let beyond = &high + &Exact::ONE;
        let low = first_whole(low, beyond.clone(), |count| sign(count, least) <= 0);
        let after = first_whole(low.clone(), beyond, |count| sign(count, greatest) < 0);
        (low, &after - &Exact::ONE)
    }

    /// Where the value is taken: at most once, as the stretch is monotone.
    fn place_of(&self, value: &Exact) -> Option<Point> {
        let difference = self.piece.sub(&Rational::constant(value.clone()))?;
        difference.zeros(&self.start, &self.end).into_iter().next()
    }
}

/// The first whole number from `lo` up to below `hi` for which something holds,
/// as it does for all after it; `hi` where there is none.
fn first_whole(mut lo: Exact, mut hi: Exact, holds: impl Fn(&Exact) -> bool) -> Exact {
    while lo < hi {
        let middle = super::point::middle(&lo, &hi).floor();
        if holds(&middle) {
            hi = middle;
        } else {
            lo = &middle + &Exact::ONE;
        }
    }
    lo
}
