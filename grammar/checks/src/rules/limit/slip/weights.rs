//! A range of weights that would be its area's if it were in pounds.

use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Rounding, units};

use super::trials::fitting;
use super::{NOTE, RULE};
use crate::Finding;
use crate::as_if::AsIf;
use crate::slips::BESIDE;
use crate::telling::range_of_patients;

/// Beside `limit.patient`: the weights fit the area as pounds, and then every
/// limit is kept.
pub(super) fn check(as_if: &AsIf<'_>, findings: &mut Vec<Finding>) {
    let context = as_if.context;
    let order = &context.analysis.order;
    let (Some(line), Some(own)) = (order.states.weight, &order.weight) else {
        return;
    };
    let area = order
        .area
        .named()
        .and_then(|area| area.value.weight.as_ref());
    let Some(area) = area else { return };
    let Some(right) = in_kilograms(own).filter(|right| !inside(own, area) && inside(right, area))
    else {
        return;
    };
    let mut corrected: Order = order.clone();
    corrected.weight = Some(right.clone());
    if fitting(as_if, corrected).is_none() {
        return;
    }
    let written = context.text(own.span);
    let text = range_of_patients(&right, units::KG, context.style());
    let message = format!(
        "Likely slip: `{written}` matches the patients of the area if it is in pounds; in kilograms that is {text}."
    );
    let fix = context
        .replace(own.span, text.clone())
        .titled(format!("write {text} instead of {written}"));
    findings.push(
        context
            .finding(&RULE, own.span, message)
            .related(context.place(line), BESIDE)
            .note(NOTE)
            .fix(fix),
    );
}

/// Pounds as kilograms, to the nearest whole one.
fn in_kilograms(range: &Extent) -> Option<Extent> {
    let pound = Exact::ratio(45_359_237, 100_000_000)?;
    let end = |end: &Option<Exact>| {
        end.as_ref()
            .map(|pounds| Rounding::HalfUp.apply(&(pounds * &pound)))
    };
    Some(Extent {
        low: end(&range.low),
        high: end(&range.high),
        ..range.clone()
    })
}

fn inside(range: &Extent, area: &Extent) -> bool {
    let low = match (&range.low, &area.low) {
        (Some(own), Some(area)) => own >= area,
        (_, None) => true,
        (None, Some(_)) => false,
    };
    let high = match (&range.high, &area.high) {
        (Some(own), Some(area)) => own <= area,
        (_, None) => true,
        (None, Some(_)) => false,
    };
    low && high
}
