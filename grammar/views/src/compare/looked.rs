//! Values that go in steps, each pair of pumped flows looked at once.
//!
//! A run's flow and its dose go by one flow as the pump runs it, and an
//! adjust's end often by the same again; looking at all its settings is most
//! of the work of a comparison.

use gutta_protocol::curve::Curve;
use gutta_protocol::measures::{AsPumped, Value, ValueOf};
use gutta_quantity::Exact;

use super::stepped::{Look, StepsCompared, found, is_alike, is_level_between, looks};

/// So many looks are kept for what else goes by the same flows.
const MOST_KEPT: usize = 200_000;

/// The flows of one order as pumps run them, before and after.
#[derive(Default)]
pub(super) struct Looked {
    flows: Vec<Flows>,
    kept: usize,
}

struct Flows {
    before: AsPumped,
    after: AsPumped,
    looks: Vec<Look>,
    certain: bool,
    found: StepsCompared,
}

impl Looked {
    /// Compares two values of which one at least goes in steps.
    pub(super) fn compare(
        &mut self,
        before: &Value,
        after: &Value,
        span: (&Exact, &Exact),
    ) -> StepsCompared {
        if is_alike(&before.value, &after.value) {
            return StepsCompared::Same;
        }
        let level = is_level_between(&before.value, &after.value);
        match (&before.value, &after.value) {
            (ValueOf::Pump(one), ValueOf::Pump(other)) => {
                if let Some(known) = self.known(one, other) {
                    return known.found.clone();
                }
                let (looks, all) = looks(before, after, span);
                let found = found(&looks, all && level, span);
                self.kept += looks.len();
                if self.kept <= MOST_KEPT {
                    self.flows.push(Flows {
                        before: (**one).clone(),
                        after: (**other).clone(),
                        looks,
                        certain: all,
                        found: found.clone(),
                    });
                }
                found
            }
            (ValueOf::PumpDose(one, per), ValueOf::PumpDose(other, like)) => {
                match self.known(one, other) {
                    // By one factor, what holds of the flows holds of the doses.
                    Some(flows) if per == like && is_above_zero(per) => flows.found.clone(),
                    Some(flows) => match flows.doses(per, like) {
                        Some(looks) => found(&looks, flows.certain && level, span),
                        None => plainly(before, after, span),
                    },
                    None => plainly(before, after, span),
                }
            }
            _ => plainly(before, after, span),
        }
    }

    fn known(&self, before: &AsPumped, after: &AsPumped) -> Option<&Flows> {
        let mut all = self.flows.iter();
        all.find(|flows| flows.before == *before && flows.after == *after)
    }
}

fn plainly(before: &Value, after: &Value, span: (&Exact, &Exact)) -> StepsCompared {
    let (looks, all) = looks(before, after, span);
    let level = is_level_between(&before.value, &after.value);
    found(&looks, all && level, span)
}

fn is_above_zero(curve: &Curve) -> bool {
    let least = curve.min_value();
    least.is_some_and(|least| least.value.is_positive())
}

impl Flows {
    /// The doses that the flows give; `None` where a factor turns at a place
    /// that was not looked at.
    fn doses(&self, per: &Curve, like: &Curve) -> Option<Vec<Look>> {
        let is_seen = |place: &Exact| {
            let found = self.looks.binary_search_by(|look| look.x.cmp(place));
            found.is_ok()
        };
        let turns = [per, like].into_iter().flat_map(|factor| {
            let pieces = factor.monotone_pieces().into_iter();
            let ends = pieces.flat_map(|piece| [piece.lo, piece.hi]);
            factor.breaks().into_iter().chain(ends)
        });
        if !turns.into_iter().all(|place| is_seen(&place)) {
            return None;
        }
        let dose =
            |flow: &Option<Exact>, factor: &Curve, x: &Exact| Some(flow.as_ref()? * &factor.at(x)?);
        let looks = self.looks.iter().map(|look| Look {
            x: look.x.clone(),
            before: dose(&look.before, per, &look.x),
            after: dose(&look.after, like, &look.x),
        });
        Some(looks.collect())
    }
}
