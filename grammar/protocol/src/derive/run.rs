//! Runs and boluses: volume, flow, time and dose of each.

use gutta_notation::Span;
use gutta_quantity::Exact;

use super::bag::Bag;
use super::view::Patients;
use crate::curve::Curve;
use crate::model::drug::equivalence;
use crate::model::lower::Lowering;
use crate::model::order::{BolusSpec, BolusWay, Order, Phase, RunSpec, WaySpec, WhatSpec};
use crate::model::problem::ProblemKind;
use crate::model::size::{DrugKind, Size, Stuff};

/// A run, over the patients of a view. Base units throughout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The line.
    pub span: Span,
    /// Its place among the phase's runs.
    pub index: usize,
    /// How it is set.
    pub setting: Setting,
    /// The cap on the flow that a cap on the dose makes.
    pub flow_cap: Option<Curve>,
    /// Volume run.
    pub volume: Curve,
    /// The exact flow.
    pub flow: Curve,
    /// How long it takes.
    pub time: Curve,
    /// Drug in it, true.
    pub amount: Option<Curve>,
    /// Whether its flow is what is left in the bag over a stated time: it
    /// follows from the true volume, and no strength has a part in it.
    pub of_bag: bool,
    /// Drug per time by the strength that is reckoned with; of what is left in
    /// the bag over a time, in truth.
    pub dose: Option<Curve>,
    /// Drug per time in truth: another only where a volume is counted.
    pub true_dose: Option<Curve>,
    /// Drops per time, where a giving set is in force.
    pub drops: Option<Curve>,
    /// Two ways that do not agree.
    pub disagreement: Option<Disagreement>,
}

/// How a run is set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Setting {
    /// By a time: the flow follows from the volume.
    Time,
    /// By a flow, a dose or a drip, as written.
    Rate(Size),
}

/// Two ways of one run that contradict each other somewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// What the less precise way says, in base units.
    pub written: Exact,
    /// What follows from the other two, over the patients.
    pub derived: Curve,
    /// Which way it is.
    pub way: WaySpec,
    /// How far apart the two may be.
    pub tolerance: Exact,
}

/// A bolus, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bolus {
    /// The line.
    pub span: Span,
    /// Its volume.
    pub volume: Curve,
    /// Drug in it, true.
    pub amount: Option<Curve>,
    /// Drug in it by the strength that is reckoned with.
    pub nominal: Option<Curve>,
    /// How long it takes.
    pub time: Curve,
    /// Its flow.
    pub flow: Curve,
    /// Whether it is given with every repetition.
    pub each_time: bool,
}

/// What the runs and boluses of a phase are derived from.
#[derive(Clone, Copy)]
pub(super) struct Setup<'a> {
    pub(super) order: &'a Order,
    pub(super) phase: &'a Phase,
    pub(super) patients: &'a Patients,
    pub(super) bag: &'a Bag,
}

impl Setup<'_> {
    /// Drug of `size`, counted as the bag's drug is; also per time.
    fn drug(&self, lowering: &mut Lowering, size: &Size, kind: DrugKind) -> Option<Curve> {
        let Some(drug) = &self.bag.drug else {
            lowering.problem(size.span, ProblemKind::NeedsStrength);
            return None;
        };
        let whole = super::whole(self.patients, lowering, size)?;
        let named = self.order.drug.as_ref().map(|drug| &*drug.value);
        match equivalence(named, kind, drug.kind) {
            Some(factor) => Some(whole.scale(&factor)),
            None => {
                lowering.problem(
                    size.span,
                    ProblemKind::NoEquivalence {
                        from: kind,
                        to: drug.kind,
                    },
                );
                None
            }
        }
    }

    /// The volume, or volume per time, that a size of volume, drug or drops
    /// makes with the bag's (counted) strength.
    pub(super) fn volume(&self, lowering: &mut Lowering, size: &Size) -> Option<Curve> {
        match size.form.stuff {
            Stuff::Volume => super::whole(self.patients, lowering, size),
            Stuff::Drug(kind) => {
                let drug = self.drug(lowering, size, kind)?;
                let strength = &self.bag.drug.as_ref()?.strength;
                computed(
                    lowering,
                    size.span,
                    drug.div(strength),
                    "the volume (the bag's strength may be zero)",
                )
            }
            Stuff::Drops => {
                let set = self
                    .phase
                    .giving_set
                    .as_ref()
                    .and_then(|set| set.value.drops.as_ref());
                let Some((per_volume, _)) = set else {
                    lowering.problem(size.span, ProblemKind::NeedsDrops);
                    return None;
                };
                let drops = super::whole(self.patients, lowering, size)?;
                Some(drops.scale(&per_volume.recip()?))
            }
        }
    }

    /// The flow at a setting: a flow, a dose or a drip, its cap applied.
    pub(super) fn flow_at(
        &self,
        lowering: &mut Lowering,
        setting: &Size,
        cap: Option<&Curve>,
    ) -> Option<Curve> {
        let flow = self.volume(lowering, setting)?;
        match cap {
            Some(cap) => flow.min(cap),
            None => Some(flow),
        }
    }

    /// A run that starts with `left` in the bag.
    pub(super) fn run(
        &self,
        lowering: &mut Lowering,
        spec: &RunSpec,
        index: usize,
        left: &Curve,
    ) -> Option<Run> {
        let flow_cap = match &spec.dose_cap {
            None => None,
            Some(cap) => Some(self.volume(lowering, cap)?),
        };
        let volume = match &spec.what {
            None => None,
            // What was overdrawn before leaves nothing, not less than that.
            Some(WhatSpec::All(_)) => Some(left.max(&self.patients.constant(Exact::ZERO))?),
            Some(WhatSpec::Size(size, cap)) => {
                let volume = self.volume(lowering, size)?;
                Some(match cap {
                    None => volume,
                    Some(cap) => volume.min(&self.volume(lowering, cap)?)?,
                })
            }
        };
        let rate = spec.ways.iter().find_map(|way| match way {
            WaySpec::At(rate) => Some(rate),
            WaySpec::Over(_) => None,
        });
        let written_time = spec.ways.iter().find_map(|way| match way {
            WaySpec::Over(time) => Some(time),
            WaySpec::At(_) => None,
        });
        let (setting, flow) = match (rate, written_time, &volume) {
            (Some(rate), _, _) => (
                Setting::Rate(rate.clone()),
                self.flow_at(lowering, rate, flow_cap.as_ref())?,
            ),
            (None, Some(time), Some(volume)) => {
                let flow = volume.scale(&time.value.recip()?);
                let flow = match &flow_cap {
                    Some(cap) => flow.min(cap)?,
                    None => flow,
                };
                (Setting::Time, flow)
            }
            _ => {
                lowering.problem(spec.span, ProblemKind::VolumeMissing);
                return None;
            }
        };
        let volume = match (volume, written_time) {
            (Some(volume), _) => volume,
            (None, Some(time)) => flow.scale(&time.value),
            (None, None) => {
                lowering.problem(spec.span, ProblemKind::VolumeMissing);
                return None;
            }
        };
        let time = match (&setting, written_time) {
            // As stated; a cap on the flow makes it longer.
            (Setting::Time, Some(time)) if flow_cap.is_none() => {
                self.patients.constant(time.value.clone())
            }
            _ => computed(
                lowering,
                spec.span,
                volume.div(&flow),
                "the time (the flow may be zero)",
            )?,
        };
        let of_bag = setting == Setting::Time
            && flow_cap.is_none()
            && matches!(spec.what, Some(WhatSpec::All(_)));
        let drug = self.bag.drug.as_ref();
        let set = self
            .phase
            .giving_set
            .as_ref()
            .and_then(|set| set.value.drops.as_ref());
        let mut run = Run {
            span: spec.span,
            index,
            setting,
            amount: drug.and_then(|drug| volume.mul(&drug.true_strength)),
            of_bag,
            dose: drug.and_then(|drug| flow.mul(drug.strength_of(of_bag))),
            true_dose: drug.and_then(|drug| flow.mul(&drug.true_strength)),
            drops: set.map(|(drops, _)| flow.scale(drops)),
            flow_cap,
            volume,
            flow,
            time,
            disagreement: None,
        };
        if spec.ways.len() == 2 && spec.what.is_some() {
            run.disagreement = self.disagreement(lowering, spec, &run);
        }
        Some(run)
    }

    /// Two ways must agree at every weight, within half the last digit of the
    /// less precise, and within a tenth of it.
    fn disagreement(
        &self,
        lowering: &mut Lowering,
        spec: &RunSpec,
        run: &Run,
    ) -> Option<Disagreement> {
        let mut readings = Vec::with_capacity(2);
        for way in &spec.ways {
            let (value, decimals, unit) = match way {
                WaySpec::Over(time) => (time.value.clone(), time.decimals, time.unit),
                WaySpec::At(rate) => (rate.value.clone(), rate.decimals, rate.unit),
            };
            let half = Exact::ratio(1, 2).unwrap_or_default();
            let digit = &Exact::ten_to(-i32::from(decimals)) * &half;
            let tolerance = &digit * &unit.factor();
            let relative = tolerance.checked_div(&value)?;
            // Of a single digit, half of the last is up to half of the whole.
            let most = &value * &Exact::ratio(1, 10)?;
            readings.push((relative, tolerance.min(most), value, way));
        }
        readings.sort_by(|one, other| other.0.cmp(&one.0));
        let (_, tolerance, written, way) = readings.swap_remove(0);
        let derived = match way {
            // The flow is what the other way sets; the time follows.
            WaySpec::Over(_) => run.time.clone(),
            WaySpec::At(rate) => {
                let other = spec.ways.iter().find(|other| *other != way)?;
                let flow = match other {
                    WaySpec::Over(time) => run.volume.scale(&time.value.recip()?),
                    WaySpec::At(other) => self.flow_at(lowering, other, run.flow_cap.as_ref())?,
                };
                self.in_form_of(&flow, rate)?
            }
        };
        let apart = derived.sub(&self.patients.constant(written.clone()))?;
        let apart = apart.max(&apart.neg())?;
        let regions = apart.where_above(&self.patients.constant(tolerance.clone()))?;
        (!regions.is_empty()).then(|| Disagreement {
            written,
            derived,
            way: way.clone(),
            tolerance,
        })
    }

    /// A flow, in the base units of the setting's own form (per kg, as drug).
    pub(super) fn in_form_of(&self, flow: &Curve, setting: &Size) -> Option<Curve> {
        let whole = match setting.form.stuff {
            Stuff::Volume => flow.clone(),
            Stuff::Drug(kind) => {
                let drug = self.bag.drug.as_ref()?;
                let named = self.order.drug.as_ref().map(|drug| &*drug.value);
                flow.mul(&drug.strength)?
                    .scale(&equivalence(named, drug.kind, kind)?)
            }
            Stuff::Drops => {
                let (drops, _) = self.phase.giving_set.as_ref()?.value.drops.as_ref()?;
                flow.scale(drops)
            }
        };
        whole.div(&self.patients.factor(setting.form)?)
    }

    /// A bolus.
    pub(super) fn bolus(&self, lowering: &mut Lowering, spec: &BolusSpec) -> Option<Bolus> {
        let stated = self.volume(lowering, &spec.size)?;
        let volume = match &spec.cap {
            None => stated,
            Some(cap) => stated.min(&self.volume(lowering, cap)?)?,
        };
        let (time, flow) = match &spec.way {
            BolusWay::Over(time) => (
                self.patients.constant(time.value.clone()),
                volume.scale(&time.value.recip()?),
            ),
            BolusWay::At(rate) => {
                let flow = self.volume(lowering, rate)?;
                let what = "how long the bolus takes (its rate may be zero)";
                (
                    computed(lowering, spec.span, volume.div(&flow), what)?,
                    flow,
                )
            }
        };
        let drug = self.bag.drug.as_ref();
        Some(Bolus {
            span: spec.span,
            amount: drug.and_then(|drug| volume.mul(&drug.true_strength)),
            nominal: drug.and_then(|drug| volume.mul(&drug.strength)),
            volume,
            time,
            flow,
            each_time: spec.each_time,
        })
    }
}

fn computed(
    lowering: &mut Lowering,
    span: Span,
    curve: Option<Curve>,
    what: &'static str,
) -> Option<Curve> {
    if curve.is_none() {
        lowering.problem(span, ProblemKind::NotComputable { what });
    }
    curve
}
