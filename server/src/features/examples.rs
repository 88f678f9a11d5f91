//! The value of which a worked example speaks.

use gutta_notation::Line;
use gutta_protocol::derive::{Patient, View, derive};
use gutta_protocol::measures::{Group, Measures, Question, ends, gather, reach};
use gutta_protocol::model::order::{Expectation, Order};
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Dimension, Exact, Quantity};

use super::derived::Shown;
use super::steps::{ended, groups_text, steps};

/// What stands behind the example: `exactly` where its value is the very one.
pub(super) fn label(shown: &Shown<'_>, expectation: &Expectation) -> Option<String> {
    let order = &shown.analysis.order;
    let alone;
    let one = expectation.weight.is_some() || expectation.surface.is_some();
    let views = if one {
        let patient = Patient {
            weight: expectation.weight.clone(),
            surface: expectation.surface.clone(),
        };
        if outside(order, &patient) {
            return None;
        }
        alone = derive(order, &patient).ok()?;
        &alone.views
    } else {
        &shown.values()?.views
    };
    let groups = answers(order, views, expectation);
    let mut told = Vec::new();
    for group in &groups {
        let value = group.value()?;
        let over: Vec<_> = group
            .over
            .iter()
            .map(|(view, value)| (*view, value))
            .collect();
        let reach = reach(&over)?;
        let stated = expectation.value.base();
        let both = [reach.from, reach.to];
        if both
            .iter()
            .all(|spot| spot.number.as_ref() == Some(&stated))
        {
            told.push("exactly".to_owned());
            continue;
        }
        let style = shown.style();
        let [from, to] = both.map(|spot| {
            let quantity = Quantity::from_base(spot.number?, expectation.value.unit);
            Some(if value.unit.dimension() == Dimension::TIME {
                style.quantity_shown(&quantity)
            } else {
                style.quantity(&quantity)
            })
        });
        let over = match one || group.over.iter().all(|(_, value)| value.is_constant()) {
            true => String::new(),
            false => format!(" over {}", shown.patients()),
        };
        told.push(format!("= {}{over}", ends(from, to)));
    }
    told.dedup();
    (!told.is_empty()).then(|| told.join(", "))
}

/// A worked example: how the order comes to the value.
pub(super) fn worked(shown: &Shown<'_>, line: &Line) -> Option<String> {
    let order = &shown.analysis.order;
    let mut expects = order.expects.iter();
    let expectation = expects.find(|expectation| expectation.span == line.span)?;
    let patient = Patient {
        weight: expectation.weight.clone(),
        surface: expectation.surface.clone(),
    };
    if outside(order, &patient) {
        return Some("The order does not cover this patient.".to_owned());
    }
    if patient == Patient::default() {
        let values = shown.values()?;
        let groups = answers(order, &values.views, expectation);
        return Some(ended(groups_text(shown, &groups, true)?));
    }
    let alone = derive(order, &patient).ok()?;
    let groups = answers(order, &alone.views, expectation);
    let view = alone.views.first()?;
    let text = steps(shown, view, &groups, view.patients.interval.lo());
    (!text.is_empty()).then(|| ended(text))
}

/// The values of which an example speaks.
fn answers<'v>(order: &Order, views: &'v [View], expectation: &'v Expectation) -> Vec<Group<'v>> {
    let question = Question {
        measure: &expectation.measure.value,
        per_day: expectation.per_day,
        dose: expectation.dose.as_ref(),
        unit: Some(expectation.value.unit),
    };
    let phase = expectation.phase.as_ref();
    let index = phase.map(|phase| {
        let mut phases = order.phases.iter();
        phases.position(|other| other.name.as_ref() == Some(&phase.value))
    });
    gather(views, expectation.dose.as_ref(), |view| {
        let mut values = Measures { order, view }.answer(&question);
        if let Some(index) = index {
            values.retain(|value| value.phase.is_none() || value.phase == index);
        }
        values
    })
}

/// Whether the order does not cover the patient.
fn outside(order: &Order, patient: &Patient) -> bool {
    let beyond = |asked: &Option<Exact>, extent: &Option<Extent>| match (asked, extent) {
        (None, _) => false,
        (Some(_), None) => true,
        (Some(asked), Some(extent)) => !extent.reaches(asked),
    };
    beyond(&patient.weight, &order.weight) || beyond(&patient.surface, &order.surface)
}
