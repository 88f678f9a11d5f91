//! A giving without end of a drug whose reference speaks of single doses and of
//! the time between them. It has no single dose, and where a limit by rate
//! judges it, its bags are no givings; but what it gives in the shortest
//! interval is more than may be given in that time, where it is more than one
//! single dose. A `total` says what it may be; where none does, this is told.

use gutta_notation::ast::LimitMeasure;

use super::as_loads::{HeldBack, Otherwise};
use super::compare::{Judging, judge_reading, shared};
use super::holds::{Stretch, without_all};
use super::judgement::{Breach, Judgement};
use super::readings::{Reader, is_as_loading};
use crate::model::limit::{LimitBound, Side, TotalOver};

/// Judges what goes on without end and no `total` judges.
pub(super) fn judge(judging: &mut Judging<'_>, reader: &Reader<'_>, otherwise: &Otherwise) {
    let Some(apart) = reader.apart() else { return };
    let whole = Stretch::of(&judging.view.patients.interval);
    for giving in reader.givings() {
        let Some(run) = giving.renewed().filter(|_| !giving.has_end()) else {
            continue;
        };
        let by_bag = otherwise.left(whole.clone(), run, &[HeldBack::Dose, HeldBack::Total]);
        let as_one = without_all(vec![whole.clone()], &by_bag);
        let within = shared(
            &as_one,
            &otherwise.left(whole.clone(), run, &[HeldBack::Total]),
        );
        let single = judging.limits.iter().filter(|bound| {
            let never = !bound.usual && bound.side == Side::High;
            never && bound.measure == LimitMeasure::SingleDose && !is_as_loading(bound)
        });
        for bound in single {
            let of_interval = LimitBound {
                measure: LimitMeasure::Total,
                over: TotalOver::Any(apart.clone()),
                ..bound.clone()
            };
            let found = breaches(judging, reader, &of_interval, &within);
            judging.judgement.in_interval.extend(found);
        }
    }
}

fn breaches(
    judging: &Judging<'_>,
    reader: &Reader<'_>,
    bound: &LimitBound,
    within: &[Stretch],
) -> Vec<Breach> {
    let mut judgement = Judgement::default();
    let mut apart = Judging {
        judgement: &mut judgement,
        order: judging.order,
        view: judging.view,
        index: judging.index,
        drug: judging.drug,
        limits: judging.limits,
    };
    for reading in reader.totals(bound) {
        judge_reading(&mut apart, bound, reading, Some(within));
    }
    judgement.breaches
}
