//! An order against its drug's limits: what breaches which bound, for which
//! patients, and what could not be judged.

use gutta_notation::ast::LimitMeasure;

use super::as_loads::Otherwise;
use super::compare::{Judging, judge_reading};
use super::judgement::{Breach, Judgement};
use super::readings::Reader;
use crate::derive::Values;
use crate::model::limit::LimitBound;
use crate::model::order::Order;

/// Judges an order that is complete.
#[must_use]
pub fn judge(order: &Order, values: &Values) -> Judgement {
    let mut judgement = Judgement::default();
    let Some(drug) = &order.drug else {
        return judgement;
    };
    let id = drug.id;
    let limits = &drug.value.limits;
    let loads_too = !states_loads(limits);
    for (index, view) in values.views.iter().enumerate() {
        let reader = Reader::new(order, view);
        let mut otherwise = Otherwise::default();
        let mut judging = Judging {
            judgement: &mut judgement,
            order,
            view,
            index,
            drug: id,
            limits,
        };
        for bound in limits {
            let mut judged = false;
            for reading in reader.readings(bound, loads_too) {
                let run = reading.run.map(|run| (reading.phase, run));
                let over = judge_reading(&mut judging, bound, reading, None);
                judged |= !over.is_empty();
                otherwise.note(&reader, bound, run, &over);
            }
            judging.judgement.applied += usize::from(judged);
        }
        super::renewed::judge(&mut judging, &reader, &mut otherwise);
        super::endless::judge(&mut judging, &reader, &otherwise);
        super::as_loads::judge(&mut judging, &reader, &otherwise);
    }
    super::prohibitions::forbidden(&mut judgement, order, values);
    judgement
}

/// Whether a complete order keeps these bounds of its drug, and each could be
/// compared and says of whom it holds. They are looked at one after the other,
/// and none after the first that is not kept, so that the likeliest goes first.
///
/// What bags that follow one another are held to beside that, and what may be a
/// load, is left to [`judge`].
#[must_use]
pub fn keeps(order: &Order, values: &Values, bounds: &[&LimitBound]) -> bool {
    !comes_to(order, values, bounds, |judgement| !judgement.is_kept())
}

/// Whether a complete order passes one of these bounds of its drug so, as far as
/// [`keeps`] looks.
#[must_use]
pub fn passes(
    order: &Order,
    values: &Values,
    bounds: &[&LimitBound],
    so: impl Fn(&Breach) -> bool,
) -> bool {
    comes_to(order, values, bounds, |judgement| {
        judgement.breaches.iter().any(&so)
    })
}

/// Whether the judgement by these bounds comes to this: asked after each bound
/// and view, and no further once it does.
fn comes_to(
    order: &Order,
    values: &Values,
    bounds: &[&LimitBound],
    this: impl Fn(&Judgement) -> bool,
) -> bool {
    let Some(drug) = &order.drug else {
        return false;
    };
    let limits = &drug.value.limits;
    let loads_too = !states_loads(limits);
    let views = values.views.iter();
    let readers: Vec<_> = views.map(|view| Reader::new(order, view)).collect();
    let mut judgement = Judgement::default();
    for bound in bounds {
        for (index, reader) in readers.iter().enumerate() {
            let mut judging = Judging {
                judgement: &mut judgement,
                order,
                view: reader.view,
                index,
                drug: drug.id,
                limits,
            };
            for reading in reader.readings(bound, loads_too) {
                judge_reading(&mut judging, bound, reading, None);
            }
            if this(&judgement) {
                return true;
            }
        }
    }
    false
}

/// Whether a drug states limits of loads: its other limits then leave loads to
/// them.
#[must_use]
pub fn states_loads(limits: &[LimitBound]) -> bool {
    limits.iter().any(|bound| {
        let of_loads = matches!(
            bound.measure,
            LimitMeasure::Bolus | LimitMeasure::BolusRate | LimitMeasure::BolusTime
        );
        of_loads && !bound.usual
    })
}
