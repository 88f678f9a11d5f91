//! Readings of loads, and of the whole order's drug.

use gutta_notation::ast::LimitMeasure;

use super::readings::{Drug, Reader, Reading, Reads, Unknown, nominal_or_true};
use crate::curve::Curve;
use crate::derive::{At, Endless};
use crate::model::limit::{LimitBound, LimitForm, Side, TotalOver};

impl Reader<'_> {
    pub(super) fn boluses(
        &self,
        bound: &LimitBound,
        pick: impl Fn(&crate::derive::Bolus) -> (Option<Curve>, Option<Drug>),
    ) -> Vec<Reading> {
        let mut readings = Vec::new();
        for (phase, bolus) in self.view.boluses() {
            let (plain, drug) = pick(bolus);
            let value = self.plain_or_drug(phase, plain, drug, bound);
            readings.push(Reading {
                phase,
                load: true,
                span: bolus.span,
                at: At::Start,
                run: None,
                value,
                ends: None,
            });
        }
        readings
    }

    pub(super) fn bolus_rates(&self, bound: &LimitBound) -> Vec<Reading> {
        self.boluses(bound, |bolus| {
            let dose =
                nominal_or_true(bolus, bound.usual).and_then(|amount| amount.div(&bolus.time));
            (Some(bolus.flow.clone()), Drug::of(dose, &bolus.flow))
        })
    }

    /// What a bound of loads says of one run, as if its phase were a load.
    pub(super) fn as_loads(&self, bound: &LimitBound, phase: usize, run: usize) -> Vec<Reading> {
        let mut readings = match bound.measure {
            LimitMeasure::Bolus | LimitMeasure::BolusRate | LimitMeasure::BolusTime => {
                self.runs_as_loads(bound, |of| of == (phase, run))
            }
            _ => self.readings(bound, true),
        };
        readings.retain(|reading| {
            reading.phase == phase && reading.run.is_none_or(|of| of == run) && !reading.load
        });
        for reading in &mut readings {
            reading.load = true;
        }
        readings
    }

    /// What a bound of loads judges in the runs of loading phases.
    pub(super) fn loading_runs(&self, bound: &LimitBound) -> Vec<Reading> {
        self.runs_as_loads(bound, |(phase, _)| self.is_load(phase))
    }

    fn runs_as_loads(
        &self,
        bound: &LimitBound,
        which: impl Fn((usize, usize)) -> bool,
    ) -> Vec<Reading> {
        let mut readings = Vec::new();
        for (phase, run, derived) in self.each_run() {
            if !which((phase, run)) {
                continue;
            }
            let (plain, drug) = match bound.measure {
                LimitMeasure::Bolus => (&derived.volume, derived.amount.clone()),
                LimitMeasure::BolusRate => (&derived.flow, derived.true_dose.clone()),
                _ => (&derived.time, None),
            };
            let drug = Drug::of(drug, plain);
            let value = self.plain_or_drug(phase, Some(plain.clone()), drug, bound);
            let span = derived.span;
            readings.push(Reading {
                phase,
                load: self.is_load(phase),
                span,
                at: At::Start,
                run: Some(run),
                value,
                ends: None,
            });
        }
        readings
    }

    /// All drug, over the order or in any stretch: as it starts, and for a
    /// `never` at the highest (lowest) setting too.
    pub(super) fn totals(&self, bound: &LimitBound) -> Vec<Reading> {
        let LimitForm::Size(form) = bound.form else {
            return Vec::new();
        };
        let Some(first) = self
            .view
            .phases
            .iter()
            .position(|phase| phase.bag.drug.is_some())
        else {
            return Vec::new();
        };
        let adjusts = self
            .order
            .phases
            .iter()
            .find_map(|phase| phase.adjust.as_ref());
        let mut settings = vec![(At::Start, None)];
        if let (Some(adjust), false) = (adjusts, bound.usual) {
            let at = if bound.side == Side::High {
                At::High
            } else {
                At::Low
            };
            settings.push((at, Some(adjust.span)));
        }
        let span = self
            .view
            .phases
            .last()
            .and_then(|phase| phase.runs.last().map(|run| run.span));
        let span = span.unwrap_or(self.order.header);
        let mut readings = Vec::new();
        for (at, adjust) in settings {
            let value = match self.view.totals(self.order, at) {
                _ if self.any_untied() => Reads::Unknown(Unknown::Equivalence),
                None => Reads::Unknown(Unknown::NotComputable),
                Some(totals) => match &bound.over {
                    TotalOver::Any(window) => self.drug(
                        first,
                        totals.drug_judged_in(self.order, self.view, window, bound.side),
                        form,
                    ),
                    TotalOver::Order => match totals.drug_judged(self.order, self.view, bound.side)
                    {
                        Some(Endless::Ends(all)) => self.drug(first, Some(all), form),
                        Some(Endless::WithoutEnd) => Reads::WithoutEnd,
                        None => Reads::Unknown(Unknown::NotComputable),
                    },
                },
            };
            readings.push(Reading {
                phase: first,
                load: false,
                span: adjust.unwrap_or(span),
                at,
                run: None,
                value,
                ends: None,
            });
        }
        readings
    }
}
