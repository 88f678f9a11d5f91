//! Values that go in steps: a flow as the pump runs it, containers, a bag that
//! runs dry for some alone. Between two neighbouring edges, of either state,
//! such a value keeps to one setting; so it is looked at on every edge, just
//! beside it, and between each two.

use gutta_protocol::curve::Curve;
use gutta_protocol::measures::{AsPumped, Value, ValueOf};
use gutta_quantity::{Exact, work};

use super::stretch::{Compared, Peak};
use super::telling::size_of;

/// More edges of one value are not sought: so many settings has a pump that
/// runs up to 2,000 mL/h in steps of 0.1 mL/h.
const MOST_EDGES: usize = 20_000;

/// What came of looking.
#[derive(Clone)]
pub(super) enum StepsCompared {
    /// The same for every patient.
    Same,
    /// The same wherever it was looked at, which was not everywhere.
    Unsure,
    /// Otherwise for some.
    Apart(Compared),
}

/// Both values at one place.
#[derive(Clone)]
pub(super) struct Look {
    pub(super) x: Exact,
    pub(super) before: Option<Exact>,
    pub(super) after: Option<Exact>,
}

/// Both values wherever either may turn and between each two such places,
/// rising; and whether these are all such places.
pub(super) fn looks(before: &Value, after: &Value, span: (&Exact, &Exact)) -> (Vec<Look>, bool) {
    let (one, other) = (edges(before), edges(after));
    let mut places = one.places;
    places.extend(other.places);
    places.extend([span.0.clone(), span.1.clone()]);
    places.retain(|place| place >= span.0 && place <= span.1);
    places.sort_unstable();
    places.dedup();
    let half = Exact::ratio(1, 2).unwrap_or_default();
    let mut looks = Vec::with_capacity(2 * places.len());
    let mut look = |x: Exact| {
        work::charge(4);
        looks.push(Look {
            before: before.at(&x),
            after: after.at(&x),
            x,
        });
    };
    let mut places = places.into_iter().peekable();
    while let Some(place) = places.next() {
        let between = places.peek().map(|next| &(&place + next) * &half);
        look(place);
        between.into_iter().for_each(&mut look);
    }
    (looks, one.all && other.all)
}

/// What the looks say. `certain`: between two of them neither value turns.
pub(super) fn found(looks: &[Look], certain: bool, span: (&Exact, &Exact)) -> StepsCompared {
    let mut seen = Seen::default();
    let mut last: Option<&Look> = None;
    for look in looks {
        let again = |last: &Look| (&last.before, &last.after) == (&look.before, &look.after);
        if !last.is_some_and(again) {
            seen.take(look);
        }
        last = Some(look);
    }
    if !seen.apart {
        return if certain {
            StepsCompared::Same
        } else {
            StepsCompared::Unsure
        };
    }
    let mut shown = vec![span.0.clone(), span.1.clone()];
    shown.extend(seen.part.clone());
    let greatest = seen.greatest.map(|(ratio, x)| {
        let everywhere = seen.one_ratio && seen.part.is_none();
        if !everywhere {
            shown.push(x.clone());
        }
        Peak {
            ratio,
            at: (!everywhere).then_some(x),
            certain,
        }
    });
    shown.sort();
    shown.dedup();
    StepsCompared::Apart(Compared {
        places: shown,
        greatest,
        part: seen.part.is_some(),
    })
}

struct Seen {
    apart: bool,
    /// Whether the ratio was the same wherever there was one.
    one_ratio: bool,
    greatest: Option<(Exact, Exact)>,
    /// Where there is a value on one side alone.
    part: Option<Exact>,
}

impl Default for Seen {
    fn default() -> Self {
        Self {
            apart: false,
            one_ratio: true,
            greatest: None,
            part: None,
        }
    }
}

impl Seen {
    fn take(&mut self, look: &Look) {
        let (old, new) = match (&look.before, &look.after) {
            (Some(old), Some(new)) => (old, new),
            (None, None) => return,
            _ => {
                self.apart = true;
                self.part.get_or_insert_with(|| look.x.clone());
                return;
            }
        };
        self.apart |= old != new;
        let Some(ratio) = new.checked_div(old) else {
            return;
        };
        match &self.greatest {
            Some((greatest, _)) => {
                self.one_ratio &= *greatest == ratio;
                let (known, here) = (size_of(greatest), size_of(&ratio));
                let further = match (known, here) {
                    (Some(known), Some(here)) => here > known,
                    (known, here) => known.is_some() && here.is_none(),
                };
                if further {
                    self.greatest = Some((ratio, look.x.clone()));
                }
            }
            None => self.greatest = Some((ratio, look.x.clone())),
        }
    }
}

/// Whether both are plainly the same, where they stand in their files apart.
pub(super) fn is_alike(before: &ValueOf, after: &ValueOf) -> bool {
    match (before, after) {
        (ValueOf::Whole(one), ValueOf::Whole(other)) => one == other,
        (ValueOf::WhereNothing(one), ValueOf::WhereNothing(other)) => one == other,
        (ValueOf::Pump(one), ValueOf::Pump(other)) => is_pumped_alike(one, other),
        (ValueOf::PumpDose(one, per), ValueOf::PumpDose(other, like)) => {
            per == like && is_pumped_alike(one, other)
        }
        (ValueOf::WithoutEnd, ValueOf::WithoutEnd) => true,
        _ => false,
    }
}

fn is_pumped_alike(one: &AsPumped, other: &AsPumped) -> bool {
    let ranges = one.pump.flows.iter().zip(&other.pump.flows);
    one.flow == other.flow
        && one.bounds == other.bounds
        && one.pump.flows.len() == other.pump.flows.len()
        && ranges.into_iter().all(|(one, other)| {
            (&one.low, &one.high, &one.step) == (&other.low, &other.high, &other.step)
        })
}

/// Whether between two edges the ratio of the two keeps still.
pub(super) fn is_level_between(before: &ValueOf, after: &ValueOf) -> bool {
    let is_steps = |value: &ValueOf| matches!(value, ValueOf::Pump(_) | ValueOf::Whole(_));
    match (before, after) {
        (ValueOf::PumpDose(_, per), ValueOf::PumpDose(_, like)) => {
            let ratio = like.div(per);
            ratio.is_some_and(|ratio| ratio.is_constant().is_some())
        }
        (one, other) => is_steps(one) && is_steps(other),
    }
}

/// Where a value may turn, and whether these are all such places.
struct Edges {
    places: Vec<Exact>,
    all: bool,
}

fn edges(value: &Value) -> Edges {
    let mut edges = Edges {
        places: Vec::new(),
        all: true,
    };
    match &value.value {
        ValueOf::Exact(curve) => edges.turns(curve),
        ValueOf::Whole(curve) => {
            edges.turns(curve);
            // A whole number is half-way between the halves beside it.
            let half = Exact::ratio(-1, 2).unwrap_or_default();
            edges.steps(curve, &Exact::ONE, &half);
        }
        ValueOf::WhereNothing(some) => {
            edges.turns(&some.value);
            edges.turns(&some.left);
            edges.crossings(&some.left, &level(&some.left, &Exact::ZERO));
        }
        ValueOf::Pump(pumped) => edges.pumped(pumped),
        ValueOf::PumpDose(pumped, per_flow) => {
            edges.pumped(pumped);
            edges.turns(per_flow);
        }
        ValueOf::WithoutEnd => {}
    }
    edges
}

impl Edges {
    fn turns(&mut self, curve: &Curve) {
        self.places.extend(curve.breaks());
        for piece in curve.monotone_pieces() {
            self.places.extend([piece.lo, piece.hi]);
        }
    }

    fn steps(&mut self, curve: &Curve, step: &Exact, offset: &Exact) {
        let found = curve.step_edges(step, offset, MOST_EDGES);
        self.all &= !found.truncated;
        let edges = found.edges.into_iter();
        self.places
            .extend(edges.flat_map(|edge| [edge.lo, edge.hi]));
    }

    fn crossings(&mut self, curve: &Curve, other: &Curve) {
        let regions = [curve.where_above(other), curve.where_below(other)];
        for regions in regions {
            let Some(regions) = regions else {
                self.all = false;
                continue;
            };
            let ends = regions.into_iter();
            self.places
                .extend(ends.flat_map(|region| [region.from.x, region.to.x]));
        }
    }

    fn pumped(&mut self, pumped: &AsPumped) {
        let AsPumped { flow, pump, bounds } = pumped;
        self.turns(flow);
        for (index, range) in pump.flows.iter().enumerate() {
            // Whatever step a seam is rounded by, its middle lies here.
            if let Some(above) = pump.flows.get(index + 1) {
                let half = Exact::ratio(1, 2).unwrap_or_default();
                let middle = &(&range.high + &above.low) * &half;
                self.crossings(flow, &level(flow, &middle));
            }
            for end in [&range.low, &range.high] {
                self.crossings(flow, &level(flow, end));
            }
            match &range.step {
                Some(step) => {
                    let inside = flow
                        .min(&level(flow, &range.high))
                        .and_then(|flow| flow.max(&level(&flow, &range.low)));
                    match inside {
                        Some(inside) => self.steps(&inside, step, &range.low),
                        None => self.all = false,
                    }
                }
                // Without steps the flow itself goes up and down between.
                None => self.all = false,
            }
        }
        // A bound turns the rounding of the step that it lies in.
        for bound in bounds.curves() {
            self.crossings(flow, bound);
            for range in &pump.flows {
                if let Some(step) = &range.step {
                    self.steps(bound, step, &range.low);
                    let half = step * &Exact::ratio(1, 2).unwrap_or_default();
                    self.steps(bound, step, &(&range.low + &half));
                }
            }
        }
    }
}

fn level(curve: &Curve, value: &Exact) -> Curve {
    Curve::constant(curve.span().clone(), value.clone())
}
