//! Bags that follow one another. Where no limit judges by dose or in total what
//! such a run gives, each bag is a giving: `then renew` in the place of `every`
//! switches no limit of a single dose or an interval off. Where one does, or the
//! drug states no interval, and the bags end, all of them are one.

use gutta_notation::ast::LimitMeasure;

use super::as_loads::{HeldBack, Otherwise};
use super::compare::{Judging, judge_reading};
use super::holds::{Stretch, without_all};
use super::readings::{Reader, Reading, Reads};
use crate::delivery::Giving;
use crate::model::limit::LimitBound;

/// Judges the givings of an order whose bags are renewed.
pub(super) fn judge(judging: &mut Judging<'_>, reader: &Reader<'_>, otherwise: &mut Otherwise) {
    for giving in reader.givings() {
        let Some(run) = giving.renewed() else {
            continue;
        };
        let whole = Stretch::of(&judging.view.patients.interval);
        let by_bag = match reader.is_one(giving) {
            true => vec![whole.clone()],
            false => otherwise.left(whole.clone(), run, &[HeldBack::Dose, HeldBack::Total]),
        };
        let as_one = without_all(vec![whole], &by_bag);
        for bound in judging.limits {
            let readings = reader.of_bags(bound, giving);
            let mut judged = false;
            for reading in readings {
                let over = judge_reading(judging, bound, reading, Some(&by_bag));
                judged |= !over.is_empty();
                otherwise.note(reader, bound, Some(run), &over);
            }
            for reading in reader.as_one(bound, giving) {
                let over = judge_reading(judging, bound, reading, Some(&as_one));
                judged |= !over.is_empty();
                otherwise.note(reader, bound, Some(run), &over);
            }
            judging.judgement.applied += usize::from(judged);
        }
    }
}

impl Reader<'_> {
    /// Whether bags that follow one another are one giving, whatever judges
    /// them: they end, and no interval parts them.
    fn is_one(&self, giving: &Giving) -> bool {
        giving.has_end() && self.apart().is_none()
    }

    /// What a bound says of all bags of a giving that is renewed together.
    fn as_one(&self, bound: &LimitBound, giving: &Giving) -> Vec<Reading> {
        match bound.measure {
            LimitMeasure::SingleDose if giving.has_end() => self.single_dose(bound, giving),
            LimitMeasure::Time => {
                let mut readings = self.time(bound, giving, true);
                for reading in readings.iter_mut().filter(|_| !giving.has_end()) {
                    reading.value = Reads::WithoutEnd;
                }
                readings
            }
            _ => Vec::new(),
        }
    }

    /// What a bound says of the bags of a giving that is renewed, one by one.
    pub(super) fn of_bags(&self, bound: &LimitBound, giving: &Giving) -> Vec<Reading> {
        match bound.measure {
            LimitMeasure::SingleDose if self.is_one(giving) => self.single_dose(bound, giving),
            LimitMeasure::Time if self.is_one(giving) => self.time(bound, giving, true),
            _ if self.is_one(giving) => Vec::new(),
            LimitMeasure::SingleDose => {
                let mut readings = self.first_bag(bound, giving);
                readings.extend(self.next_bag(bound, giving));
                readings
            }
            LimitMeasure::Time => {
                let mut readings = self.time(bound, &self.up_to_first_bag(giving), true);
                readings.extend(self.next_interval(giving));
                readings
            }
            LimitMeasure::Interval => self.next_interval(giving).into_iter().collect(),
            _ => Vec::new(),
        }
    }
}
