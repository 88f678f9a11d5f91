//! Areas, pumps, giving sets and solutions, their values judged.

use gutta_notation::ast::{PatientKind, Range};
use gutta_notation::{Fact, Span, Stanza, Written};
use gutta_quantity::{Dimension, Exact, Unit};
use smol_str::SmolStr;

use super::limit::strength;
use super::lower::{Lowering, is_flow, is_volume, units_written};
use super::problem::{Problem, ProblemKind};
use super::size::{DrugKind, Extent, Form, Per, Size};

/// What a fluid brings: a substance, per volume.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ContainedSubstance {
    /// The substance.
    pub substance: SmolStr,
    /// How much of it in a base unit of volume, in base units.
    pub strength: Exact,
    /// In what it is counted.
    pub kind: DrugKind,
    /// The line.
    pub span: Span,
}

/// An area's rules.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Area {
    /// Its name.
    pub name: SmolStr,
    /// Body weights in kg.
    pub weight: Option<Extent>,
    /// Body surfaces in m2.
    pub surface: Option<Extent>,
    /// Ages in base units of time.
    pub age: Option<Extent>,
    /// Its pump's name.
    pub pump: Option<SmolStr>,
    /// Its giving set's name.
    pub giving_set: Option<SmolStr>,
    /// The most any run may flow.
    pub ceiling: Option<Size>,
    /// The most any bolus may flow.
    pub bolus_ceiling: Option<Size>,
    /// Fluid per day.
    pub fluid: Option<(Extent, Form)>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

/// What a pump can run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pump {
    /// Its name.
    pub name: SmolStr,
    /// Its ranges of flow, from slow to fast, base units.
    pub flows: Vec<PumpRange>,
    /// The most it can be set to deliver, base units.
    pub volume: Option<(Exact, Span)>,
    /// The fastest bolus, base units.
    pub bolus: Option<(Exact, Span)>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

/// The largest syringe that a pump takes, in mL: a pump that can be set to no
/// more than this holds what is in the bag itself (our own choice).
const SYRINGE: i64 = 100;

impl Pump {
    /// Whether it runs a syringe, not a bag.
    #[must_use]
    pub fn takes_syringe(&self) -> bool {
        let most = self.volume.as_ref();
        most.is_some_and(|(most, _)| *most <= Exact::int(SYRINGE))
    }
}

/// One range of a pump's flow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PumpRange {
    /// Slowest.
    pub low: Exact,
    /// Fastest.
    pub high: Exact,
    /// From setting to setting; `None`: any value.
    pub step: Option<Exact>,
    /// The unit it is set in.
    pub unit: Unit,
    /// The line.
    pub span: Span,
}

/// A giving set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GivingSet {
    /// Its name.
    pub name: SmolStr,
    /// Drops per base unit of volume.
    pub drops: Option<(Exact, Span)>,
    /// The volume of its line, base units.
    pub priming: Option<(Exact, Span)>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

/// A solution.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Solution {
    /// Its name.
    pub name: SmolStr,
    /// What it brings.
    pub contains: Vec<ContainedSubstance>,
    /// Base units of osmolarity.
    pub osmolarity: Option<(Exact, Span)>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

pub(super) fn is_whole_volume(form: &Form) -> bool {
    is_volume(form) && form.per == Per::Patient
}

pub(super) fn name_of(stanza: &Stanza) -> SmolStr {
    stanza
        .name
        .as_ref()
        .map(|name| name.value.clone())
        .unwrap_or_default()
}

pub(super) fn osmolarity(lowering: &mut Lowering, written: &Written) -> Option<Exact> {
    let dimension = Dimension::OSMOLES.minus(Dimension::VOLUME);
    lowering
        .scalar(written, dimension, "an osmolarity (mOsm/L)")
        .map(|scalar| scalar.value)
}

pub(super) fn content(
    lowering: &mut Lowering,
    substance: &SmolStr,
    written: &Written,
    span: Span,
) -> Option<ContainedSubstance> {
    let (strength, kind) = strength(lowering, written)?;
    Some(ContainedSubstance {
        substance: substance.clone(),
        strength,
        kind,
        span,
    })
}

/// An area, from its stanza.
#[must_use]
pub fn area(stanza: &Stanza) -> Area {
    let mut lowering = Lowering::default();
    let mut area = Area {
        name: name_of(stanza),
        ..Area::default()
    };
    for line in &stanza.lines {
        match &line.fact {
            Fact::Patient {
                kind: PatientKind::Weight,
                range,
            } => area.weight = lowering.weights(range),
            Fact::Patient {
                kind: PatientKind::Surface,
                range,
            } => area.surface = lowering.surfaces(range),
            Fact::Patient {
                kind: PatientKind::Age,
                range,
            } => area.age = lowering.times(range),
            Fact::Pump(name) => area.pump = Some(name.value.clone()),
            Fact::GivingSet(name) => area.giving_set = Some(name.value.clone()),
            Fact::Ceiling(written) => {
                area.ceiling = lowering.size(written, "a flow", is_flow);
            }
            Fact::BolusCeiling(written) => {
                area.bolus_ceiling = lowering.size(written, "a flow", is_flow);
            }
            Fact::Fluid(range) => area.fluid = fluid(&mut lowering, range),
            _ => {}
        }
    }
    area.whole = stanza.is_whole() && lowering.problems.is_empty();
    area.problems = lowering.problems;
    area
}

/// Fluid per time: both ends in one form.
pub(crate) fn fluid(lowering: &mut Lowering, range: &Range) -> Option<(Extent, Form)> {
    let mut form = None;
    let mut end = |written: Option<&Written>| -> Option<Option<Exact>> {
        let Some(written) = written else {
            return Some(None);
        };
        let size = lowering.size(written, "fluid per day", is_flow)?;
        form = Some(size.form);
        Some(Some(size.value))
    };
    let low = end(range.low.as_ref())?;
    let high = end(range.high.as_ref())?;
    Some((
        Extent {
            low,
            high,
            high_excluded: range.high_excluded,
            units: units_written(range),
            span: range.span,
        },
        form?,
    ))
}

/// A pump, from its stanza.
#[must_use]
pub fn pump(stanza: &Stanza) -> Pump {
    let mut lowering = Lowering::default();
    let mut pump = Pump {
        name: name_of(stanza),
        ..Pump::default()
    };
    for line in &stanza.lines {
        match &line.fact {
            Fact::PumpFlow { range, step } => {
                pump.flows
                    .extend(pump_range(&mut lowering, range, step.as_deref(), line.span));
                upper_end(&mut lowering, range);
            }
            Fact::PumpVolume(range) => {
                let high = upper_end(&mut lowering, range).and_then(|high| lowering.volume(high));
                pump.volume = high.map(|high| (high.value, line.span));
            }
            Fact::PumpBolus(range) => {
                let high = upper_end(&mut lowering, range);
                let high = high.and_then(|high| lowering.size(high, "a flow", is_flow));
                pump.bolus = high.map(|high| (high.value, line.span));
            }
            Fact::Accuracy(written) => {
                let share = written
                    .quantity()
                    .is_some_and(|quantity| quantity.unit == gutta_quantity::units::PERCENT);
                if !share {
                    lowering.size(written, "a percentage", |_| false);
                }
            }
            _ => {}
        }
    }
    pump.flows.sort_by(|one, other| one.low.cmp(&other.low));
    pump.whole = stanza.is_whole() && lowering.problems.is_empty();
    pump.problems = lowering.problems;
    pump
}

/// A pump's range must end somewhere: a missing end is said, not passed over.
fn upper_end<'a>(lowering: &mut Lowering, range: &'a Range) -> Option<&'a Written> {
    if range.high.is_none() {
        lowering.problem(
            range.span,
            ProblemKind::Missing {
                what: "a maximum (`up to`)",
            },
        );
    }
    range.high.as_ref()
}

fn pump_range(
    lowering: &mut Lowering,
    range: &Range,
    step: Option<&Written>,
    span: Span,
) -> Option<PumpRange> {
    let whole = |form: &Form| is_flow(form) && form.per == Per::Patient;
    let high = lowering.size(range.high.as_ref()?, "a flow", whole)?;
    let low = match &range.low {
        Some(low) => lowering.size(low, "a flow", whole)?.value,
        None => Exact::ZERO,
    };
    let step = match step {
        Some(step) => Some(lowering.size(step, "a flow", whole)?.value),
        None => None,
    };
    Some(PumpRange {
        low,
        high: high.value,
        step,
        unit: high.unit,
        span,
    })
}

/// A giving set, from its stanza.
#[must_use]
pub fn giving_set(stanza: &Stanza) -> GivingSet {
    let mut lowering = Lowering::default();
    let mut set = GivingSet {
        name: name_of(stanza),
        ..GivingSet::default()
    };
    for line in &stanza.lines {
        match &line.fact {
            Fact::DropFactor(written) => {
                let dimension = Dimension::DROPS.minus(Dimension::VOLUME);
                let drops = lowering.scalar(written, dimension, "drops per volume");
                set.drops = drops.map(|drops| (drops.value, line.span));
            }
            Fact::Priming(written) => {
                let volume = lowering.size(written, "a volume", is_whole_volume);
                set.priming = volume.map(|volume| (volume.value, line.span));
            }
            _ => {}
        }
    }
    set.whole = stanza.is_whole() && lowering.problems.is_empty();
    set.problems = lowering.problems;
    set
}

/// A solution, from its stanza.
#[must_use]
pub fn solution(stanza: &Stanza) -> Solution {
    let mut lowering = Lowering::default();
    let mut solution = Solution {
        name: name_of(stanza),
        ..Solution::default()
    };
    for line in &stanza.lines {
        match &line.fact {
            Fact::Contains {
                substance,
                strength,
            } => {
                solution.contains.extend(content(
                    &mut lowering,
                    &substance.value,
                    strength,
                    line.span,
                ));
            }
            Fact::Osmolarity(written) => {
                solution.osmolarity =
                    osmolarity(&mut lowering, written).map(|value| (value, line.span));
            }
            _ => {}
        }
    }
    solution.whole = stanza.is_whole() && lowering.problems.is_empty();
    solution.problems = lowering.problems;
    solution
}
