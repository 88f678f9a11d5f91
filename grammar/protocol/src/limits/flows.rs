//! A limit on dose or flow, as the flow at which it is reached.

use gutta_quantity::Exact;

use super::holds::{Stretch, gives_way};
use crate::curve::Curve;
use crate::derive::View;
use crate::model::limit::{LimitBound, LimitForm, Side};
use crate::model::order::Order;
use crate::model::size::{Form, Stuff};

/// For whom a drug's limit on a rate holds in a phase, and the flow at which it
/// is reached there (base units); `None` in place of the flow where it cannot
/// be brought to one, and of the whole where it holds for nobody.
#[must_use]
pub fn flow_of_limit(
    order: &Order,
    view: &View,
    phase: usize,
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
    let flow = view.flow_of_bound(order, phase, &bound.bound, form, bound.side);
    Some((holds.over, flow))
}

impl View {
    /// The flow at which a bound on dose or flow is reached, by the strength
    /// that is worse for that side.
    #[must_use]
    pub fn flow_of_bound(
        &self,
        order: &Order,
        phase: usize,
        bound: &Exact,
        form: Form,
        side: Side,
    ) -> Option<Curve> {
        let whole = self.patients.factor(form)?.scale(bound);
        if form.stuff == Stuff::Volume {
            return Some(whole);
        }
        let drug = self.phases.get(phase)?.bag.drug.as_ref()?;
        let named = order.drug.as_ref().map(|drug| &*drug.value);
        let factor = crate::derive::equivalence(named, form.drug()?, drug.kind)?;
        let worse = match side {
            Side::High => drug.strength.max(&drug.true_strength)?,
            Side::Low => drug.strength.min(&drug.true_strength)?,
        };
        whole.scale(&factor).div(&worse)
    }
}
