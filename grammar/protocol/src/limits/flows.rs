//! A limit on dose or flow, as the flow at which it is reached.

use super::gives_way::gives_way;
use super::holds::Stretch;
use crate::curve::Curve;
use crate::derive::{Run, View};
use crate::model::limit::{LimitBound, LimitForm};
use crate::model::order::Order;
use crate::model::size::{Form, Stuff};

/// For whom a drug's limit on a rate holds in the phase of a run, and the flow
/// at which it is reached there (base units); `None` in place of the flow where it cannot
/// be brought to one, and of the whole where it holds for nobody.
#[must_use]
pub(crate) fn flow_of_limit(
    order: &Order,
    view: &View,
    phase: usize,
    run: &Run,
    bound: &LimitBound,
) -> Option<(Vec<Stretch>, Option<Curve>)> {
    let (drug, spec) = (order.drug.as_ref()?, order.phases.get(phase)?);
    let LimitForm::Size(form) = bound.form else {
        return None;
    };
    let holds = gives_way(
        order,
        spec,
        &view.patients,
        spec.is_loading(),
        bound,
        &drug.value.limits,
    );
    if holds.over.is_empty() {
        return None;
    }
    // At another setting its flow follows from a strength.
    let of_bag = run.of_bag && view.adjusted(order, phase, run.index).is_none();
    let flow = view.flow_of_bound(order, phase, of_bag, bound, form);
    Some((holds.over, flow))
}

impl View {
    /// The flow at which a bound on dose or flow is reached, by the strength
    /// that is worse for that side.
    fn flow_of_bound(
        &self,
        order: &Order,
        phase: usize,
        of_bag: bool,
        bound: &LimitBound,
        form: Form,
    ) -> Option<Curve> {
        let whole = self.patients.factor(form)?.scale(&bound.bound);
        if form.stuff == Stuff::Volume {
            return Some(whole);
        }
        let drug = self.phases.get(phase)?.bag.drug.as_ref()?;
        let named = order.drug.as_ref().map(|drug| &*drug.value);
        let factor = crate::model::drug::equivalence(named, form.drug()?, drug.kind)?;
        let strength = self.strength_judged(order, phase, (bound.side, bound.usual), of_bag)?;
        whole.scale(&factor).div(&strength)
    }
}
