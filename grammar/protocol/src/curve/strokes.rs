//! A curve as points to be drawn through.

use gutta_quantity::Exact;

use super::pieces::Curve;
use super::rational::Rational;

/// A point of a drawing: where, and the value there.
pub type Dot = (Exact, Exact);

impl Curve {
    /// The curve as unbroken strokes, each through its points from left to
    /// right. Every end, corner and jump is among them (a jump ends one stroke
    /// and begins the next); a straight piece needs no more, a bent one has
    /// `between` points inside, evenly apart. A corner that is not rational
    /// stands as its two neighbours on the grid of 1/1000. All points are
    /// exact, so that who draws rounds once, to its own paper.
    #[must_use]
    pub fn strokes(&self, between: usize) -> Vec<Vec<Dot>> {
        let mut strokes: Vec<Vec<Dot>> = Vec::new();
        for (piece, start, end) in self.parts() {
            let (from, to) = (self.bracket(&start).1, self.bracket(&end).0);
            // Narrower than the grid: its neighbours meet there.
            if from > to {
                continue;
            }
            let inside = if piece.is_straight() { 0 } else { between };
            let places = evenly(&from, &to, inside).into_iter();
            let dots: Vec<Dot> = places
                .filter_map(|x| piece.at(&x).map(|value| (x, value)))
                .collect();
            let joined = strokes.last_mut().filter(|stroke| {
                let (last, first) = (stroke.last(), dots.first());
                last.zip(first)
                    .is_some_and(|(last, first)| last.0 < first.0 || last == first)
            });
            match joined {
                Some(stroke) => stroke.extend(dots),
                None => strokes.push(dots),
            }
        }
        for stroke in &mut strokes {
            stroke.dedup();
        }
        strokes.retain(|stroke| !stroke.is_empty());
        strokes
    }
}

impl Rational {
    /// Whether it is `a · x + b`.
    fn is_straight(&self) -> bool {
        let raised = usize::try_from(self.power);
        self.den().is_constant() && raised.is_ok_and(|power| power + self.num().degree() <= 1)
    }
}

/// Both ends and `inside` numbers between.
fn evenly(from: &Exact, to: &Exact, inside: usize) -> Vec<Exact> {
    let width = to - from;
    let parts = i64::try_from(inside).unwrap_or(0) + 1;
    let at = |part| {
        let share = Exact::ratio(part, parts).unwrap_or_default();
        from + &(&width * &share)
    };
    (0..=parts).map(at).collect()
}
