//! How an order's runs and boluses are given.

use gutta_notation::Span;
use gutta_notation::ast::ExpectMeasure as M;
use gutta_protocol::Analysis;
use gutta_protocol::derive::Action;
use gutta_protocol::measures::patients;
use gutta_protocol::model::order::{
    BolusSpec, BolusWay, Phase, RunSpec, ThenSpec, WaySpec, WhatSpec,
};
use gutta_protocol::model::size::{Per, Scalar, Size, Stuff};
use gutta_quantity::{Atom, Dimension, Exact, Unit, units};

use super::derived::{Derived, Giving};
use super::fhir::{
    CodeableConcept, Decimal, Dosage, DoseAndRate, OneOrMany, Quantity, Rate, Ratio, Repeat, Timing,
};
use super::left_out::{LeftOut, words};
use super::medication::TOO_LONG;
use super::{Exporter, Release};

/// One dosage in the making, and what it cannot hold.
struct Maker<'a> {
    exporter: &'a Exporter<'a>,
    analysis: &'a Analysis,
    derived: &'a Derived<'a>,
    phase: usize,
    giving: Giving,
    span: Span,
    left: &'a mut LeftOut,
}

impl Exporter<'_> {
    /// The dosages of a phase, in the order in which they are given.
    pub(super) fn dosages(
        &self,
        analysis: &Analysis,
        derived: &Derived<'_>,
        phase: usize,
        left: &mut LeftOut,
    ) -> Vec<Dosage> {
        let order = &analysis.order;
        let (Some(spec), Some(view)) = (order.phases.get(phase), derived.views.first()) else {
            return Vec::new();
        };
        let Some(done) = view.phases.get(phase) else {
            return Vec::new();
        };
        let words = words(self.workspace, order.id, phase, spec.name.is_some());
        let bag = order
            .phases
            .get(done.bag.phase)
            .and_then(|phase| phase.bag.as_ref());
        let bag = bag.map(|bag| self.written(order.id, bag.span));
        let mut dosages = Vec::new();
        for action in &done.sequence {
            let (giving, span) = match *action {
                Action::Run(run) => (Giving::Run(run), spec.runs.get(run).map(|run| run.span)),
                Action::Bolus(bolus) => (
                    Giving::Bolus(bolus),
                    spec.boluses.get(bolus).map(|bolus| bolus.span),
                ),
            };
            let Some(span) = span else { continue };
            let mut maker = Maker {
                exporter: self,
                analysis,
                derived,
                phase,
                giving,
                span,
                left,
            };
            let made = match giving {
                Giving::Run(run) => spec.runs.get(run).map(|run| maker.run(spec, run)),
                Giving::Bolus(bolus) => spec.boluses.get(bolus).map(|bolus| maker.bolus(bolus)),
            };
            // In words: `http://hl7.org/fhir/ValueSet/route-codes` is SNOMED CT's,
            // the use of which HL7's agreement does not cover.
            dosages.extend(made.map(|dosage| {
                Dosage {
                    sequence: dosages.len() + 1,
                    text: maker.text(bag.as_deref()),
                    additional_instruction: words.iter().map(CodeableConcept::text).collect(),
                    route: spec
                        .route
                        .named()
                        .map(|route| CodeableConcept::text(route.value.phrase())),
                    ..dosage
                }
            }));
        }
        dosages
    }
}

impl Maker<'_> {
    fn run(&mut self, phase: &Phase, run: &RunSpec) -> Dosage {
        let (what, cap) = match &run.what {
            Some(WhatSpec::Size(size, cap)) => (Some(size), cap.as_ref()),
            Some(WhatSpec::All(_)) | None => (None, None),
        };
        let rate = run.ways.iter().find_map(|way| match way {
            WaySpec::At(rate) => Some(rate),
            WaySpec::Over(_) => None,
        });
        let over = run.ways.iter().find_map(|way| match way {
            WaySpec::Over(time) => Some(time),
            WaySpec::At(_) => None,
        });
        let renews = matches!(phase.then, Some((ThenSpec::Renew(_), _)));
        let every = run.every.as_ref();
        let mut repeat = Repeat {
            count: every.map_or((!renews).then_some(1), |every| every.count),
            ..Repeat::default()
        };
        if let Some(every) = every {
            let (period, unit) = self.time(&every.interval);
            (repeat.frequency, repeat.period, repeat.period_unit) = (Some(1), period, unit);
        }
        if !renews {
            let time = self.constant(&M::Time, Dimension::TIME);
            (repeat.duration, repeat.duration_unit) = match (over, time) {
                (Some(over), _) if run.dose_cap.is_none() => self.time(over),
                (_, Some(time)) => clock(&time, Atom::H).unzip(),
                (_, None) => (None, None),
            };
        }
        let max = run.dose_cap.as_ref().map(|cap| self.limit(cap));
        let cap = cap.map(|cap| self.quantity(cap));
        let stated = what.filter(|_| self.is_capped(&cap));
        let set = rate.filter(|_| self.is_capped(&max));
        let over = over.filter(|_| max.is_none() && cap.is_none());
        let ordered = self.ordered(stated, set, over);
        let calculated = self.calculated(
            what.is_some_and(is_plain_volume),
            rate.is_some_and(is_plain_volume),
        );
        Dosage {
            timing: timing(repeat),
            dose_and_rate: [ordered, calculated].into_iter().flatten().collect(),
            max_dose_per_period: max.flatten().map(|max| match self.exporter.release {
                Release::R4 => OneOrMany::One(max),
                Release::R5 => OneOrMany::Many([max]),
            }),
            max_dose_per_administration: cap.flatten(),
            ..Dosage::default()
        }
    }

    fn bolus(&mut self, bolus: &BolusSpec) -> Dosage {
        let (rate, over) = match &bolus.way {
            BolusWay::At(rate) => (Some(rate), None),
            BolusWay::Over(time) => (None, Some(time)),
        };
        if bolus.each_time {
            self.note("no field gives a bolus with each repetition of a run");
        }
        let mut repeat = Repeat {
            count: (!bolus.each_time).then_some(1),
            ..Repeat::default()
        };
        let time = self.constant(&M::BolusTime, Dimension::TIME);
        (repeat.duration, repeat.duration_unit) = match (over, time) {
            (Some(over), _) => self.time(over),
            (None, Some(time)) => clock(&time, Atom::Min).unzip(),
            (None, None) => (None, None),
        };
        let cap = bolus.cap.as_ref().map(|cap| self.quantity(cap));
        let size = Some(&bolus.size).filter(|_| self.is_capped(&cap));
        let ordered = self.ordered(size, rate, over.filter(|_| cap.is_none()));
        let calculated = self.calculated(is_plain_volume(&bolus.size), true);
        Dosage {
            timing: timing(repeat),
            dose_and_rate: [ordered, calculated].into_iter().flatten().collect(),
            max_dose_per_administration: cap.flatten(),
            ..Dosage::default()
        }
    }

    /// Whether a number may stand: it has no cap, or a field holds its cap.
    fn is_capped<T>(&mut self, cap: &Option<Option<T>>) -> bool {
        let is_capped = !matches!(cap, Some(None));
        if !is_capped {
            self.note("no field holds its maximum: a number without it would give too much");
        }
        is_capped
    }

    /// What the line states: how much, and how fast. A time is passed only
    /// where no cap holds the amount down: the amount over it would be faster.
    fn ordered(
        &mut self,
        what: Option<&Size>,
        rate: Option<&Size>,
        over: Option<&Scalar>,
    ) -> Option<DoseAndRate> {
        let dose = what.and_then(|what| self.quantity(what));
        let speed = rate
            .and_then(|rate| self.quantity(rate))
            .map(Rate::Quantity);
        let speed = speed.or_else(|| {
            // A time says a rate only of what the line names.
            let (what, over) = rate.is_none().then_some(what.zip(over))??;
            let top = self.quantity(what)?;
            Some(Rate::Ratio(Ratio::new(
                top,
                Quantity::of(&over.quantity(), self.exporter.style)?,
            )))
        });
        dose_and_rate("ordered", dose, speed)
    }

    /// What follows from it, where that is one number for every patient: the
    /// volume and the flow.
    fn calculated(&mut self, volume_is_stated: bool, flow_is_stated: bool) -> Option<DoseAndRate> {
        let measure = match self.giving {
            Giving::Run(_) => M::Volume,
            Giving::Bolus(_) => M::Bolus,
        };
        let volume = self.constant(&measure, Dimension::VOLUME);
        let volume = volume.filter(|_| !volume_is_stated);
        let dose = volume.and_then(|volume| {
            let quantity = Quantity::from_base(volume, units::ML, self.exporter.style);
            if quantity.is_none() {
                self.note("its volume has no decimal: it is in words, rounded");
            }
            quantity
        });
        let style = self.exporter.style;
        let flow = self.constant(&M::Flow, units::ML_PER_H.dimension());
        let speed = flow.filter(|_| !flow_is_stated).and_then(|flow| {
            let rate = Quantity::from_base(flow.clone(), units::ML_PER_H, style);
            let rate = rate.map(Rate::Quantity);
            // Per base unit of time, which is the minute.
            let ratio =
                || Ratio::of((flow, units::ML), (Exact::ONE, units::H), style).map(Rate::Ratio);
            let rate = rate.or_else(ratio);
            if rate.is_none() {
                self.note(TOO_LONG);
            }
            rate
        });
        dose_and_rate("calculated", dose, speed)
    }

    /// The most per time that a cap on the dose allows.
    fn limit(&mut self, cap: &Size) -> Option<Ratio> {
        // What has no quantity has no ratio; it says why.
        self.quantity(cap)?;
        let style = self.exporter.style;
        let parts = over_time(cap.unit).and_then(|(top, time)| {
            let value = cap.quantity().value;
            let top = Quantity::of(&gutta_quantity::Quantity::new(value, top), style)?;
            let one = gutta_quantity::Quantity::new(Exact::ONE, Unit::new(time));
            Some(Ratio::new(top, Quantity::of(&one, style)?))
        });
        if parts.is_none() {
            self.note("its maximum has no code, or no decimal");
        }
        parts
    }

    fn quantity(&mut self, size: &Size) -> Option<Quantity> {
        let grows = size.form.per == Per::Weight && size.form.drug().is_some();
        if grows && self.analysis.order.dosing_weight.is_some() {
            self.note(
                "no field stops a dose per kg at a weight: a number without that would give too much",
            );
            return None;
        }
        let quantity = Quantity::of(&size.quantity(), self.exporter.style);
        if quantity.is_none() {
            self.note(match size.form.stuff {
                Stuff::Drops => "drops have no UCUM code: the flow is given instead",
                Stuff::Drug(_) | Stuff::Volume => TOO_LONG,
            });
        }
        quantity
    }

    fn time(&mut self, time: &Scalar) -> (Option<Decimal>, Option<&'static str>) {
        let written = time.unit.top.and_then(|atom| clock(&time.value, atom));
        if written.is_none() {
            self.note(TOO_LONG);
        }
        written.unzip()
    }

    fn constant(&self, measure: &M, dimension: Dimension) -> Option<Exact> {
        self.derived
            .constant(self.phase, self.giving, measure, dimension)
    }

    fn note(&mut self, why: &str) {
        self.left.note(self.exporter.workspace, self.span, why);
    }

    /// The bag, the line as written, and what follows from it.
    fn text(&self, bag: Option<&str>) -> String {
        let id = self.analysis.order.id;
        let line = self.exporter.written(id, self.span);
        let lines = &self.exporter.workspace.stanza(id).lines;
        let fact = lines.iter().find(|line| line.span == self.span);
        let told = fact.map_or_else(Vec::new, |line| {
            let style = self.exporter.style;
            self.derived
                .told(self.phase, self.giving, &line.fact, style)
        });
        let patients = patients(&self.analysis.order, self.exporter.style);
        let patients = Some(format!("For {patients}")).filter(|told| told.len() > 4);
        let stated = patients
            .as_deref()
            .into_iter()
            .chain(bag)
            .chain([line.as_str()])
            .collect::<Vec<_>>()
            .join("; ");
        if told.is_empty() {
            stated
        } else {
            format!("{stated}. Calculated: {}", told.join("; "))
        }
    }
}

/// No element of the standard is empty.
fn timing(repeat: Repeat) -> Option<Timing> {
    let some = repeat.count.is_some() || repeat.duration.is_some() || repeat.period.is_some();
    some.then_some(Timing { repeat })
}

fn dose_and_rate(
    kind: &'static str,
    dose: Option<Quantity>,
    rate: Option<Rate>,
) -> Option<DoseAndRate> {
    const SYSTEM: &str = "http://terminology.hl7.org/CodeSystem/dose-rate-type";
    let some = dose.is_some() || rate.is_some();
    let (rate_quantity, rate_ratio) = match rate {
        Some(Rate::Quantity(quantity)) => (Some(quantity), None),
        Some(Rate::Ratio(ratio)) => (None, Some(ratio)),
        None => (None, None),
    };
    some.then(|| DoseAndRate {
        kind: CodeableConcept::code(SYSTEM, kind),
        dose_quantity: dose,
        rate_quantity,
        rate_ratio,
    })
}

/// A volume, or volume per time, of the whole patient.
fn is_plain_volume(size: &Size) -> bool {
    size.form.stuff == Stuff::Volume && size.form.per == Per::Patient
}

/// The unit of a rate, as what is over which time.
fn over_time(unit: Unit) -> Option<(Unit, Atom)> {
    let is_time = |atom: Atom| atom.dimension() == Dimension::TIME;
    match unit.per {
        [Some(time), None] if is_time(time) => Some((
            Unit {
                per: [None, None],
                ..unit
            },
            time,
        )),
        [below, Some(time)] if is_time(time) => Some((
            Unit {
                per: [below, None],
                ..unit
            },
            time,
        )),
        _ => None,
    }
}

/// A time in base units, in `unit` where it has a decimal there, else in a
/// smaller unit; with the unit's code.
fn clock(time: &Exact, unit: Atom) -> Option<(Decimal, &'static str)> {
    [unit, Atom::H, Atom::Min, Atom::S]
        .into_iter()
        .find_map(|unit| {
            let quantity = gutta_quantity::Quantity::from_base(time.clone(), Unit::new(unit));
            Some((Decimal::of(&quantity.value)?, unit.ucum()?))
        })
}
