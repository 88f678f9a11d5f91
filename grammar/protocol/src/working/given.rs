//! The steps to what reaches the patient in all, and to how long bags last.

use gutta_notation::ast::ExpectMeasure;
use gutta_quantity::{Dimension, Exact, Unit, units};

use super::Working;
use super::run::per_ml;
use crate::curve::Curve;
use crate::delivery::{Counted, Piece, Source};
use crate::derive::{Next, Run, day};
use crate::measures::{Measure, Measures, Value, amount_unit};
use crate::model::size::{DrugKind, Form, Size};

impl Working<'_> {
    /// The setting asked for, where a run of a phase goes by it.
    pub(super) fn setting_of(&self, phase: usize, run: &Run) -> Option<&Size> {
        let takes = || self.view.takes_setting(self.order, phase, run.index);
        self.dose.filter(|_| takes())
    }

    /// What is given, one line a stretch.
    pub(super) fn total(&self, value: &Value, steps: &mut Vec<String>) -> Option<()> {
        let Measure::Expect(measure) = &value.measure else {
            return None;
        };
        let question = crate::measures::Question {
            measure,
            per_day: value.per_day,
            dose: self.dose,
            unit: Some(value.unit),
        };
        let measures = Measures {
            order: self.order,
            view: self.view,
        };
        let delivery = measures.delivery_of(&question)?;
        if let ExpectMeasure::Substance(name) = measure {
            for (phase, derived) in self.view.phases.iter().enumerate() {
                if derived.fresh {
                    self.content(phase, name, value, steps);
                }
            }
        }
        for (phase, derived) in self.view.phases.iter().enumerate() {
            for run in &derived.runs {
                self.flow(phase, run, self.setting_of(phase, run), steps)?;
            }
        }
        for piece in &delivery.pieces {
            let Some(of) = self.share(measure, piece, value) else {
                continue;
            };
            steps.push(format!("{}{of}{}", self.rate(piece)?, self.lasting(piece)?));
        }
        for flush in &delivery.flushes {
            let every = flush.every.as_ref().map(|(interval, _)| interval);
            let every = every.map_or_else(String::new, |every| self.told_every(every));
            let volume = self.told(&flush.volume, units::ML)?;
            match measure {
                ExpectMeasure::Fluid => steps.push(format!("{volume} flushed{every}")),
                ExpectMeasure::Substance(name) => {
                    let kind = Form::of(value.unit.dimension())?.drug()?;
                    if let Some(strength) = delivery.in_flush(flush, Counted::Substance(name, kind))
                    {
                        let brings = flush.volume.scale(&strength);
                        let brings = self.told(&brings, amount_unit(kind))?;
                        steps.push(format!("{volume} flushed{every}, which gives {brings}"));
                    }
                }
                _ => {}
            }
        }
        for pushed in &delivery.pushed {
            let counted = match measure {
                ExpectMeasure::Substance(name) => {
                    Counted::Substance(name, Form::of(value.unit.dimension())?.drug()?)
                }
                ExpectMeasure::Fluid => continue,
                _ => Counted::Drug,
            };
            let Some(per_volume) = delivery.in_pushed(pushed, counted) else {
                continue;
            };
            let kind = Form::of(value.unit.dimension())?.drug()?;
            let brings = pushed.volume.mul(&per_volume)?;
            steps.push(format!(
                "{} from priming, pushed in by what follows in the line, which gives {}",
                self.told(&pushed.volume, units::ML)?,
                self.told(&brings, amount_unit(kind))?
            ));
        }
        if value.per_day {
            steps.push(format!(
                "the maximum in any {}",
                self.quantity(day(), units::H)
            ));
        }
        let spread = self.spread(value);
        if !spread.is_empty() {
            let form = Form::of(value.unit.dimension())?;
            let factor = self.view.patients.factor(form)?.at(self.x)?;
            let whole = &value.at(self.x)? * &factor;
            let unit = super::without_patient(value.unit);
            steps.push(format!("{}{spread}", self.quantity(whole, unit)));
        }
        Some(())
    }

    fn rate(&self, piece: &Piece) -> Option<String> {
        Some(self.told(&piece.flow, units::ML_PER_H)?.to_string())
    }

    /// ` for 20 min, from 5 min on, every 8 h`.
    fn lasting(&self, piece: &Piece) -> Option<String> {
        let lasts = match &piece.time {
            Some(time) => format!("for {}", self.time(time.at(self.x)?)),
            None => "without end".to_owned(),
        };
        let start = self.time(piece.start.at(self.x)?);
        let (every, times) = match &piece.every {
            Some((interval, count)) => (
                self.told_every(interval),
                count.map_or_else(String::new, |count| format!(", {count} times")),
            ),
            None => (String::new(), String::new()),
        };
        Some(format!(" {lasts}, from {start} on{every}{times}"))
    }

    fn told_every(&self, interval: &Exact) -> String {
        format!(", every {}", self.quantity(interval.clone(), units::H))
    }

    /// What a stretch brings of a measure, per volume: ` × 80 mcg/mL`. `None`
    /// where it brings nothing of it.
    fn share(&self, measure: &ExpectMeasure, piece: &Piece, value: &Value) -> Option<String> {
        let (kind, strength) = match measure {
            ExpectMeasure::Fluid => return Some(String::new()),
            ExpectMeasure::Substance(name) if piece.source == Source::KeepOpenWith => {
                let phase = self.order.phases.get(piece.phase)?;
                let contains = &phase.kept_open_with()?.value.contains;
                let content = contains.iter().find(|content| {
                    content.substance == *name && counted_as(content.kind, value)
                })?;
                let strength =
                    self.quantity(content.strength.clone(), per_ml(amount_unit(content.kind)));
                return Some(format!(
                    " of the fluid that keeps the vein open × {strength},"
                ));
            }
            ExpectMeasure::Substance(name) => self.content_of(piece.phase, name, value)?,
            _ => {
                if piece.source == Source::KeepOpenWith {
                    return None;
                }
                let drug = self.view.phases.get(piece.phase)?.bag.drug.as_ref()?;
                (drug.kind, drug.true_strength.clone())
            }
        };
        let strength = self.told(&strength, per_ml(amount_unit(kind)))?;
        Some(format!(" × {strength}"))
    }

    /// A substance in a phase's bag per volume, counted as the value is.
    fn content_of(&self, phase: usize, name: &str, value: &Value) -> Option<(DrugKind, Curve)> {
        let contents = self.view.contents_of(self.order, phase, name)?;
        let content = contents
            .into_iter()
            .find(|content| counted_as(content.kind, value))?;
        Some((content.kind, content.per_volume))
    }

    /// How much of a substance is in a bag: the diluent's share and the drug's.
    fn content(
        &self,
        phase: usize,
        name: &str,
        value: &Value,
        steps: &mut Vec<String>,
    ) -> Option<()> {
        let (kind, per_volume) = self.content_of(phase, name, value)?;
        let bag = &self.view.phases.get(phase)?.bag;
        let spec = self.order.phases.get(bag.phase)?.bag.as_ref()?;
        let solution = spec.solution.as_ref().map(|solution| {
            (
                solution.name.as_str(),
                &solution.value.contains,
                bag.diluent.as_ref().unwrap_or(&bag.volume),
            )
        });
        let drug = bag.drug.as_ref().and_then(|drug| drug.draw.as_ref());
        let drug = drug.zip(self.order.drug.as_ref()).map(|(draw, drug)| {
            let contains = &drug.value.contains;
            (drug.name.as_str(), contains, draw)
        });
        for (of, contains, volume) in solution.into_iter().chain(drug) {
            let mut here = contains
                .iter()
                .filter(|content| content.substance == name && content.kind == kind);
            let Some(content) = here.next() else { continue };
            let volume = self.told(volume, units::ML)?;
            let unit = amount_unit(content.kind);
            let strength = self.quantity(content.strength.clone(), per_ml(unit));
            let amount = self.quantity(&volume.base() * &content.strength, unit);
            steps.push(format!(
                "{volume} of {of} × {strength} = {amount} of {name}"
            ));
        }
        let unit = amount_unit(kind);
        let in_bag = &per_volume.at(self.x)? * &bag.volume.at(self.x)?;
        steps.push(format!(
            "{} ÷ {} in the bag = {}",
            self.quantity(in_bag, unit),
            self.told(&bag.volume, units::ML)?,
            self.told(&per_volume, per_ml(unit))?
        ));
        Some(())
    }

    /// A substance in a bag, or per time of a run.
    pub(super) fn substance(
        &self,
        phase: usize,
        name: &str,
        value: &Value,
        steps: &mut Vec<String>,
    ) -> Option<()> {
        let bag = self.view.phases.get(phase)?.bag.phase;
        self.content(bag, name, value, steps)?;
        if let Some(run) = value.run {
            let run = self.view.phases.get(phase)?.runs.get(run)?;
            let flow = self.flow(phase, run, self.setting_of(phase, run), steps)?;
            let (kind, per_volume) = self.content_of(phase, name, value)?;
            let strength = self.told(&per_volume, per_ml(amount_unit(kind)))?;
            self.brings(&flow.to_string(), strength, value, steps);
        }
        Some(())
    }

    /// From the moment a bag is begun until it is empty.
    pub(super) fn runs_dry(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let life = self.view.life_of_bag(self.order, phase, self.dose)?;
        for (at, derived) in self.view.sharing(phase) {
            for run in &derived.runs {
                self.flow(at, run, self.setting_of(at, run), steps)?;
            }
        }
        if let Some(primed) = &life.primed {
            let bag = &self.view.phases.get(phase)?.bag;
            steps.push(format!(
                "{} in the bag, less {} primed",
                self.told(&bag.volume, units::ML)?,
                self.told(primed, units::ML)?
            ));
        }
        for (volume, flow) in &life.stretches {
            let volume = self.told(volume, units::ML)?;
            let flow = self.told(flow, units::ML_PER_H)?;
            let time = self.quantity(volume.base().checked_div(&flow.base())?, units::H);
            steps.push(format!("{volume} ÷ {flow} = {time}"));
        }
        let left = self.told(&life.left, units::ML)?;
        if left.value.is_positive() {
            steps.push(format!("{left} left in the bag"));
        }
        Some(())
    }

    /// Bags in a day, one after the other.
    pub(super) fn bags(&self, phase: usize, steps: &mut Vec<String>) -> Option<()> {
        let succession = self.view.succession(self.order, phase, self.dose)?;
        let lasts = self.told(&succession.lasts, units::H)?;
        match &succession.next {
            Next::Renewed(renewal) => {
                let run = self.view.phases.get(phase)?.runs.last()?;
                self.flow(phase, run, self.setting_of(phase, run), steps)?;
                let volume = self.told(&renewal.volume, units::ML)?;
                let flow = self.told(&renewal.flow, units::ML_PER_H)?;
                let through = self.quantity(volume.base().checked_div(&flow.base())?, units::H);
                steps.push(format!("{volume} ÷ {flow} = {through} a bag"));
                let change = renewal.change.as_ref();
                if let Some(change) = change.filter(|change| **change < through.base()) {
                    let change = self.quantity(change.clone(), units::H);
                    steps.push(format!("changed after {change}, which is sooner"));
                }
            }
            Next::Repeated(_) => steps.push(format!("a fresh bag every {lasts}")),
        }
        let day = self.quantity(day(), units::H);
        let mean = day.base().checked_div(&lasts.base())?;
        steps.push(format!(
            "{day} ÷ {lasts} = {}",
            self.quantity(mean.clone(), Unit::NONE)
        ));
        let mut most = mean.ceil();
        if let Next::Repeated(Some(count)) = succession.next {
            most = most.min(Exact::from(i64::from(count)));
            steps.push(format!("{count} in all"));
        }
        steps.push(format!(
            "at most {} begun in any {day}",
            self.quantity(most, Unit::NONE)
        ));
        Some(())
    }
}

/// Whether a value counts its substance so.
fn counted_as(kind: DrugKind, value: &Value) -> bool {
    let dimension = value.unit.dimension();
    dimension.plus(Dimension::VOLUME) == kind.dimension()
        || Form::of(dimension).and_then(|form| form.drug()) == Some(kind)
}
