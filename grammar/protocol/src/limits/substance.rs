//! A substance that reaches the patient from whatever holds it, against the
//! limits of a drug that is given for it: the potassium of a hung fluid, against
//! those of potassium chloride.

use gutta_notation::ast::LimitMeasure;

use super::judge::{Judgement, Judging, judge_reading};
use super::readings::{Reading, Reads, Unknown};
use crate::StanzaId;
use crate::curve::Curve;
use crate::delivery::{Counted, Delivery};
use crate::derive::{At, Values, equivalence};
use crate::model::drug::Drug;
use crate::model::limit::{LimitBound, LimitForm, Side, TotalOver};
use crate::model::order::Order;
use crate::model::size::{DrugKind, Form, Per};

/// Judges what an order brings of a substance, counted in `kind`, by each
/// `never dose` and `never total` of the drug.
#[must_use]
pub fn judge_substance(
    order: &Order,
    values: &Values,
    (id, drug): (StanzaId, &Drug),
    (name, kind): (&str, DrugKind),
) -> Judgement {
    let mut judgement = Judgement::default();
    for (index, view) in values.views.iter().enumerate() {
        let adjusted = order.phases.iter().any(|phase| phase.adjust.is_some());
        let settings = [At::Start, At::High];
        let settings = settings.iter().take(if adjusted { 2 } else { 1 });
        let deliveries: Vec<_> = settings
            .map(|at| (*at, view.delivery(order, *at)))
            .collect();
        let mut judging = Judging {
            judgement: &mut judgement,
            order,
            view,
            index,
            drug: id,
            limits: &drug.limits,
        };
        for bound in drug.limits.iter().filter(|bound| judges_substance(bound)) {
            let mut judged = false;
            for (at, delivery) in &deliveries {
                let readings = delivery
                    .as_ref()
                    .map(|delivery| readings(delivery, drug, bound, (name, kind), *at));
                for reading in readings.unwrap_or_default() {
                    judged |= !judge_reading(&mut judging, bound, reading, None).is_empty();
                }
            }
            judging.judgement.applied += usize::from(judged);
        }
    }
    judgement
}

/// Whether a bound of a drug says how much of its substance may reach a patient
/// in a time, wherever it comes from.
#[must_use]
pub fn judges_substance(bound: &LimitBound) -> bool {
    let in_time = bound.measure == LimitMeasure::Dose
        || bound.measure == LimitMeasure::Total && bound.over != TotalOver::Order;
    !bound.usual && bound.side == Side::High && in_time
}

fn readings(
    delivery: &Delivery<'_>,
    drug: &Drug,
    bound: &LimitBound,
    (name, kind): (&str, DrugKind),
    at: At,
) -> Vec<Reading> {
    let counted = Counted::Substance(name, kind);
    let LimitForm::Size(form) = bound.form else {
        return Vec::new();
    };
    let reading = |phase, span, amount| Reading {
        phase,
        phases: (phase, phase),
        load: false,
        span,
        at,
        run: None,
        value: in_form(delivery, drug, kind, form, amount),
        ends: None,
        given_way: Vec::new(),
    };
    match &bound.over {
        TotalOver::Any(window) if bound.measure == LimitMeasure::Total => {
            let most = delivery.most_in(counted, window);
            vec![reading(0, delivery.order.header, most)]
        }
        _ => {
            let pieces = delivery.pieces.iter().filter_map(|piece| {
                let per_volume = delivery.in_piece(piece, counted)?;
                let phase = delivery.order.phases.get(piece.phase)?;
                let adjust = phase.adjust.as_ref().filter(|_| at != At::Start);
                let span = adjust.map_or_else(|| delivery.span_of(piece), |adjust| adjust.span);
                Some(reading(piece.phase, span, piece.flow.mul(&per_volume)))
            });
            pieces.collect()
        }
    }
}

fn in_form(
    delivery: &Delivery<'_>,
    drug: &Drug,
    kind: DrugKind,
    form: Form,
    amount: Option<Curve>,
) -> Reads {
    let Some(factor) = form.drug().and_then(|to| equivalence(Some(drug), kind, to)) else {
        return Reads::Unknown(Unknown::Equivalence);
    };
    let Some(by) = delivery.view.patients.factor(form) else {
        return Reads::Unknown(match form.per {
            Per::Surface => Unknown::Surface,
            Per::Weight | Per::Patient => Unknown::Weight,
        });
    };
    let value = amount.and_then(|amount| amount.scale(&factor).div(&by));
    value.map_or(Reads::Unknown(Unknown::NotComputable), Reads::Value)
}
