//! What a lower `usual` can ask for at all: no more than the drug's own `never`
//! of the same measure allows. Where a `usual bolus 0.2 to 0.35 mg/kg` meets a
//! `never bolus above 25 mg`, 25 mg is all that a heavy patient can be given.

use super::holds::{Stretch, holds};
use super::readings::Reading;
use crate::curve::Curve;
use crate::derive::View;
use crate::model::drug::equivalence;
use crate::model::limit::{LimitBound, LimitForm, Side};
use crate::model::order::Order;
use crate::model::size::{Form, Stuff};

/// An order, one of its views, and its drug's limits.
type Within<'a> = (&'a Order, &'a View, &'a [LimitBound]);

/// The bound as a curve over the patients of the view, as far as a `never` that
/// holds all over the stretch allows it.
pub(super) fn asked(
    judging: Within<'_>,
    bound: &LimitBound,
    reading: &Reading,
    stretch: &Stretch,
) -> Curve {
    let (_, view, limits) = judging;
    let mut line = view.patients.constant(bound.bound.clone());
    if !bound.usual || bound.side == Side::High {
        return line;
    }
    for never in limits {
        if let Some(least) =
            allowed(judging, bound, never, reading, stretch).and_then(|allowed| line.min(&allowed))
        {
            line = least;
        }
    }
    line
}

/// What a `never above` allows, counted as the `usual` counts.
fn allowed(
    judging: Within<'_>,
    bound: &LimitBound,
    never: &LimitBound,
    reading: &Reading,
    stretch: &Stretch,
) -> Option<Curve> {
    let (order, view, _) = judging;
    let alike = !never.usual
        && never.side == Side::High
        && never.measure == bound.measure
        && never.over == bound.over;
    let (LimitForm::Size(from), LimitForm::Size(to)) = (never.form, bound.form) else {
        return None;
    };
    if !alike || from.rate != to.rate {
        return None;
    }
    let phase = order.phases.get(reading.phase)?;
    let (when, except) = (&never.when, &never.except);
    let holds = holds(order, phase, &view.patients, reading.load, when, except);
    let all_over = holds
        .over
        .iter()
        .any(|over| over.lo <= stretch.lo && over.hi >= stretch.hi);
    if !all_over || !holds.asked.is_empty() {
        return None;
    }
    let named = order.drug.as_ref().map(|drug| &*drug.value);
    let factor = match (from.stuff, to.stuff) {
        (Stuff::Drug(from), Stuff::Drug(to)) => equivalence(named, from, to)?,
        (one, other) if one == other => gutta_quantity::Exact::ONE,
        _ => return None,
    };
    let whole = |form: Form| view.patients.factor(form);
    let allowed = whole(from)?.scale(&(&never.bound * &factor));
    allowed.div(&whole(to)?)
}
