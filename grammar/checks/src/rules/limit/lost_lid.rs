//! A maximum that may have been left out: where a dose by weight or surface
//! passes a bound for the whole patient, and only for some patients.

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::Values;
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::{LimitForm, Side};
use gutta_protocol::model::order::{Phase, Preparation, WaySpec};
use gutta_protocol::model::size::{Per, Size};

use crate::{Finding, Fix, OrderContext};

/// Offers the bound as the line's maximum, where there is none.
pub(super) fn offered(
    context: &OrderContext<'_>,
    breach: &Breach,
    values: &Values,
    finding: Finding,
) -> Finding {
    match fix(context, breach, values) {
        Some((maximum, fix)) => finding
            .note(format!(
                "A maximum may have been left out: `, at most {maximum}` keeps this limit. Look in the source."
            ))
            .fix(fix),
        None => finding,
    }
}

fn fix(context: &OrderContext<'_>, breach: &Breach, values: &Values) -> Option<(String, Fix)> {
    let LimitForm::Size(form) = breach.bound.form else {
        return None;
    };
    let of_drug = form.per == Per::Patient && form.drug().is_some();
    if !of_drug || breach.bound.side == Side::Low || breach.is_of_every_patient(values) {
        return None;
    }
    let phase = context.analysis.order.phases.get(breach.reading.phase)?;
    let size = without_lid(phase, breach.bound.measure, breach.reading.span)?;
    if size.form.per == Per::Patient {
        return None;
    }
    let place = context
        .workspace
        .place(breach.drug, breach.bound.bound_span);
    let maximum = context.workspace.text_at(place).to_owned();
    let of_bag = breach.bound.measure != LimitMeasure::Dose;
    let comma = if of_bag { "," } else { "" };
    let text = format!("{}, at most {maximum}{comma}", context.text(size.span));
    let fix = context.replace(size.span, text);
    Some((maximum, fix))
}

/// The size that sets what is judged, where its line states no maximum.
fn without_lid(phase: &Phase, measure: LimitMeasure, line: Span) -> Option<&Size> {
    match measure {
        LimitMeasure::Dose => {
            let mut runs = phase.runs.iter();
            let run = runs.find(|run| run.span == line && run.dose_lid.is_none())?;
            run.ways.iter().find_map(|way| match way {
                WaySpec::At(rate) => Some(rate),
                WaySpec::Over(_) => None,
            })
        }
        LimitMeasure::SingleDose | LimitMeasure::Total => match &phase.bag.as_ref()?.how {
            Preparation::MadeUpTo {
                drug, lid: None, ..
            }
            | Preparation::AddedTo {
                drug, lid: None, ..
            } => Some(drug),
            _ => None,
        },
        _ => None,
    }
}
