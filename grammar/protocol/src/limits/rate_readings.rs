//! Readings of rates: of each run at each setting, of what is kept open, and of
//! what is pushed out of the line.

use super::readings::{NotComparable, Reader, Reading, Reads, SettingFlow, judged_by};
use crate::curve::Curve;
use crate::delivery::{Pushed, Source};
use crate::derive::At;
use crate::model::limit::{LimitBound, LimitForm, Side};
use crate::model::size::Stuff;

impl Reader<'_> {
    /// Dose or flow of each run: as it starts, and at both ends of what it may
    /// be adjusted to.
    pub(super) fn rates(&self, bound: &LimitBound, loads: bool) -> Vec<Reading> {
        let mut readings = Vec::new();
        for setting in self.flows.get_or_init(|| self.setting_flows()) {
            let (phase, run) = (setting.phase, setting.run);
            let load = self.is_load(phase);
            if load && !loads && self.comes_once(phase, Some(run)) {
                continue;
            }
            let value = match &setting.flow {
                Some(flow) => self.rate(phase, flow, setting.of_bag, bound),
                None => Reads::Unknown(NotComparable::NotComputable),
            };
            // Only a limit that begins later asks when the run ends.
            let ends = bound
                .when
                .after_first
                .as_ref()
                .and_then(|_| self.ends(phase, run));
            readings.push(Reading {
                phase,
                phases: (phase, phase),
                load,
                span: setting.span,
                at: setting.at,
                run: Some(run),
                value,
                ends,
                given_way: Vec::new(),
            });
        }
        readings
    }

    fn setting_flows(&self) -> Vec<SettingFlow> {
        let mut flows = Vec::new();
        for (phase, run, derived) in self.each_run() {
            let adjust = self.view.adjusted(self.order, phase, run);
            let mut push = |at, span| {
                flows.push(SettingFlow {
                    phase,
                    run,
                    at,
                    span,
                    of_bag: derived.of_bag && at == At::Start,
                    flow: self.view.flow_of(self.order, phase, run, at),
                });
            };
            push(At::Start, derived.span);
            if let Some(adjust) = adjust {
                push(At::Low, adjust.span);
                push(At::High, adjust.span);
            }
        }
        flows
    }

    /// When a run ends for the last time, from the start of the order.
    pub(super) fn ends(&self, phase: usize, run: usize) -> Option<Curve> {
        let delivery = self.delivery()?;
        let mut pieces = delivery.pieces.iter();
        delivery.ends(pieces.find(|piece| piece.run() == Some((phase, run)))?)
    }

    /// A flow as the limit counts it: itself, or as drug per time. For a `usual`
    /// by the strength on paper, for a `never` by that or the true one, whichever
    /// is worse; `of_bag`: by the true one, which alone it follows from.
    fn rate(&self, phase: usize, flow: &Curve, of_bag: bool, bound: &LimitBound) -> Reads {
        let LimitForm::Size(form) = bound.form else {
            return Reads::Unknown(NotComparable::NotComputable);
        };
        if form.stuff == Stuff::Volume {
            return self.per_patient(Some(flow.clone()), form);
        }
        if self.is_untied(phase) {
            return Reads::Unknown(NotComparable::Equivalence);
        }
        let strength =
            self.view
                .strength_judged(self.order, phase, (bound.side, bound.usual), of_bag);
        self.drug(
            phase,
            strength.and_then(|strength| flow.mul(&strength)),
            form,
        )
    }

    /// What was primed, while a fluid or another bag pushes it out of the line:
    /// it counts as dose.
    pub(super) fn pushed(&self, bound: &LimitBound) -> Vec<Reading> {
        let of_drug = matches!(bound.form, LimitForm::Size(form) if form.stuff != Stuff::Volume);
        let (Some(delivery), true) = (self.delivery(), of_drug && bound.side == Side::High) else {
            return Vec::new();
        };
        let phase_of = |pushed: &Pushed| pushed.behind.unwrap_or(pushed.phase);
        let each = delivery.pushed.iter().filter_map(|pushed| {
            let flow = pushed.flow.as_ref()?;
            let strength = delivery.strength_of_pushed(pushed, judged_by(bound))?;
            let rate = flow.mul(&strength);
            let (LimitForm::Size(form), Some(first)) = (bound.form, self.first_bag_of_drug())
            else {
                return None;
            };
            Some(Reading {
                phase: pushed.phase,
                phases: (pushed.phase, phase_of(pushed)),
                load: false,
                span: pushed.span,
                at: At::Start,
                run: None,
                value: self.drug(first, rate, form),
                ends: pushed.ends(),
                given_way: Vec::new(),
            })
        });
        each.collect()
    }

    /// When the bag that keeps the vein open is empty; `None`: never.
    fn kept_open_until(&self, phase: usize) -> Option<Curve> {
        let delivery = self.delivery()?;
        let mut pieces = delivery.pieces.iter();
        let kept = pieces.find(|of| of.phase == phase && of.source == Source::KeepOpen)?;
        delivery.ends(kept)
    }

    /// The drug, kept open: it counts as dose.
    pub(super) fn keep_open(&self, bound: &LimitBound) -> Vec<Reading> {
        let kept = self
            .view
            .phases
            .iter()
            .enumerate()
            .filter_map(|(phase, derived)| {
                let keep_open = derived
                    .keep_open
                    .as_ref()
                    .filter(|keep_open| keep_open.dose.is_some())?;
                let value = self.rate(phase, &keep_open.flow, false, bound);
                Some(Reading {
                    phase,
                    phases: (phase, phase),
                    load: false,
                    span: keep_open.span,
                    at: At::Start,
                    run: None,
                    value,
                    ends: self.kept_open_until(phase),
                    given_way: Vec::new(),
                })
            });
        // Little drug is what keeping open is for: only the upper side judges it.
        kept.filter(|_| bound.side == Side::High).collect()
    }
}
