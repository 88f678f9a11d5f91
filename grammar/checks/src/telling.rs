//! How values, bounds and patients are told in a message.

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::curve::Region;
use gutta_protocol::derive::{Variable, View};
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::LimitBound;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::Extent;
use gutta_quantity::print::between;
use gutta_quantity::{Atom, Exact, Printed, Quantity, Rounding, Style, Unit, units};

/// A value in base units as people read it in `unit`: `3.2 mL/h`.
pub(crate) fn told(base: &Exact, unit: Unit, style: Style) -> Printed {
    style.quantity_shown(&Quantity::from_base(base.clone(), unit))
}

/// A time in minutes, by the clock: `5 h 57 min`.
pub(crate) fn clock(minutes: &Exact, style: Style) -> Printed {
    style.duration(minutes, Rounding::HalfUp)
}

/// A value beyond a bound, in enough digits to be seen apart from it.
pub(crate) fn told_apart(base: &Exact, bound: &Exact, unit: Unit, style: Style) -> Printed {
    let everyday = told(base, unit, style);
    if everyday.reads_as(&told(bound, unit, style)) && base != bound {
        style.quantity(&Quantity::from_base(base.clone(), unit))
    } else {
        everyday
    }
}

/// One patient: `70 kg`, `1.8 m2`. A number that is short stands as it is: what
/// is said of 125.4 kg need not hold at 125 kg.
pub(crate) fn patient(view: &View, x: &Exact, style: Style) -> Option<Printed> {
    let patient = Quantity::new(x.clone(), axis(view)?);
    let short = x.decimals().is_some_and(|decimals| decimals <= 6);
    let exact = style.quantity_exact(&patient).filter(|_| short);
    Some(exact.unwrap_or_else(|| style.quantity_shown(&patient)))
}

fn axis(view: &View) -> Option<Unit> {
    match view.patients.variable {
        Variable::Weight => Some(units::KG),
        Variable::Surface => Some(units::M2),
        Variable::Nothing => None,
    }
}

/// The other of weight and surface, where the order ranges over both.
pub(crate) fn fixed(view: &View, style: Style) -> Option<Printed> {
    let (curve, unit) = match view.patients.variable {
        Variable::Weight => (view.patients.surface.as_ref()?, units::M2),
        Variable::Surface => (view.patients.weight.as_ref()?, units::KG),
        Variable::Nothing => return None,
    };
    let fixed = Quantity::new(curve.is_constant()?.clone(), unit);
    Some(style.quantity_shown(&fixed))
}

/// For which patients something holds, as the start of a sentence: `above
/// 106.6 kg`, `from 40 to 150 kg`; nothing where no patient is told from
/// another. Printed thresholds are rounded to the safe side: outwards.
#[must_use]
pub fn whom(view: &View, regions: &[Region], style: Style) -> Option<String> {
    let mut told = stretches(view, regions, style)?;
    if let Some(fixed) = fixed(view, style) {
        told.push_str(&format!(" (with {fixed})"));
    }
    Some(told)
}

/// The same, where the other of weight and surface does not matter.
pub(crate) fn stretches(view: &View, regions: &[Region], style: Style) -> Option<String> {
    let unit = axis(view)?;
    let (lo, hi) = (view.patients.interval.lo(), view.patients.interval.hi());
    let parts: Vec<_> = regions
        .iter()
        .map(|region| stretch(region, (lo, hi), unit, style))
        .collect();
    Some(crate::words::all_of(&parts))
}

fn stretch(region: &Region, (lo, hi): (&Exact, &Exact), unit: Unit, style: Style) -> String {
    let down = |x: &Exact| style.threshold(x, unit, Rounding::Down);
    let up = |x: &Exact| style.threshold(x, unit, Rounding::Up);
    // An end of the range at which the bound is just kept is not among them.
    let from_start = region.from.x <= *lo && region.from.included;
    let to_end = region.to.x >= *hi && region.to.included;
    match (from_start, to_end) {
        _ if region.from.x == region.to.x => format!("at {}", down(&region.from.x)),
        (true, true) => format!("from {}", between(&down(lo), &up(hi))),
        (false, true) if region.from.included => format!("from {} on", down(&region.from.x)),
        (false, true) => format!("above {}", down(&region.from.x)),
        (true, false) if region.to.included => format!("up to {}", up(&region.to.x)),
        (true, false) => format!("below {}", up(&region.to.x)),
        (false, false) => format!("between {} and {}", down(&region.from.x), up(&region.to.x)),
    }
}

/// An end of a range of patients in base units, as it would be written: a
/// weight below 1 kg in grams.
#[must_use]
pub fn bound_of_patients(base: &Exact, unit: Unit, style: Style) -> Printed {
    let quantity = match unit {
        // kg above the line is a mass to its unit; here it is the patient's.
        units::KG if *base < Exact::ONE => Quantity::new(base * &Exact::int(1_000), units::G),
        units::KG => Quantity::new(base.clone(), units::KG),
        _ => Quantity::from_base(base.clone(), unit),
    };
    style.quantity(&quantity)
}

/// A range of patients: `40 to 150 kg`, `40 kg or more`.
#[must_use]
pub fn range_of_patients(extent: &Extent, unit: Unit, style: Style) -> String {
    let end = |end: &Option<Exact>| Some(bound_of_patients(end.as_ref()?, unit, style));
    range_between(end(&extent.low), end(&extent.high), extent.high_excluded)
}

fn range_between(low: Option<Printed>, high: Option<Printed>, high_excluded: bool) -> String {
    match (low, high) {
        (Some(low), Some(high)) => between(&low, &high).to_string(),
        (Some(low), None) => format!("{low} or more"),
        (None, Some(high)) if high_excluded => format!("less than {high}"),
        (None, Some(high)) => format!("up to {high}"),
        (None, None) => "any".to_owned(),
    }
}

/// The lower end of a range of patients: of an age, as it is written.
pub(crate) fn low_as_written(extent: &Extent, unit: Unit, style: Style) -> Option<Printed> {
    let unit = as_written(extent.units.0, unit);
    Some(bound_of_patients(extent.low.as_ref()?, unit, style))
}

/// The upper end, likewise.
pub(crate) fn high_as_written(extent: &Extent, unit: Unit, style: Style) -> Option<Printed> {
    let unit = as_written(extent.units.1, unit);
    Some(bound_of_patients(extent.high.as_ref()?, unit, style))
}

/// The unit of an age that is written in this one: weeks are no share of a year.
fn as_written(written: Option<Unit>, unit: Unit) -> Unit {
    let age = unit.commensurable(units::DAYS);
    written.filter(|_| age).unwrap_or(unit)
}

/// A range of patients: of ages, as it is written.
pub(crate) fn range_as_written(extent: &Extent, unit: Unit, style: Style) -> String {
    let low = low_as_written(extent, unit, style);
    let high = high_as_written(extent, unit, style);
    range_between(low, high, extent.high_excluded)
}

/// A range of ages, in the longest unit in which both ends are whole: `16 to
/// 110 years`.
#[must_use]
pub fn range_of_ages(extent: &Extent, style: Style) -> String {
    let ends = [&extent.low, &extent.high].into_iter().flatten();
    range_of_patients(extent, unit_of_ages(ends), style)
}

/// The longest unit in which these ages, in base units, are whole.
#[must_use]
pub fn unit_of_ages<'e>(ages: impl Iterator<Item = &'e Exact> + Clone) -> Unit {
    let is_whole = |unit: &Unit| {
        let mut counts = ages
            .clone()
            .map(|base| Quantity::from_base(base.clone(), *unit).value);
        counts.all(|count| count.is_whole())
    };
    let units = [Atom::Years, Atom::Months, Atom::Weeks, Atom::Days].map(Unit::new);
    units.into_iter().find(is_whole).unwrap_or(units::DAYS)
}

/// The first letter as a capital.
pub(crate) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// What a bound allows at most or at least: `2 mcg/kg/min`.
pub(crate) fn bound_told(bound: &LimitBound, style: Style) -> Printed {
    style.quantity(&Quantity::from_base(bound.bound.clone(), bound.unit))
}

/// The subject of a breach's sentence, with the drug's name where that is to
/// be told.
pub(crate) fn subject(order: &Order, breach: &Breach, drug: Option<&str>) -> String {
    let of = drug.map_or_else(String::new, |drug| format!(" of {drug}"));
    let name = match breach.bound.measure {
        LimitMeasure::Dose if breach.reading.load => {
            format!("the dose{of} during the bolus or loading dose")
        }
        LimitMeasure::Flow if breach.reading.load => {
            format!("the flow{of} during the bolus or loading dose")
        }
        LimitMeasure::Dose => format!("the dose{of}"),
        LimitMeasure::Flow => format!("the flow{of}"),
        LimitMeasure::SingleDose => format!("the single dose{of}"),
        LimitMeasure::Interval => format!("the interval{of}"),
        LimitMeasure::Strength => format!("the strength{of}"),
        LimitMeasure::Osmolarity => format!("the osmolarity of the bag{of}"),
        LimitMeasure::Bolus => format!("the bolus{of}"),
        LimitMeasure::BolusRate => format!("the rate of the bolus{of}"),
        LimitMeasure::BolusTime => format!("the time of the bolus{of}"),
        LimitMeasure::Total => format!("all {} given", drug.unwrap_or("the drug")),
        LimitMeasure::Time => format!("the time of the run{of}"),
    };
    match in_phases(order, breach.reading.phases) {
        Some(phases) if breach.bound.measure != LimitMeasure::Total => format!("{name} {phases}"),
        _ => name,
    }
}

/// `in phase first`, `in phases first and second`, `in phases first to fifth`.
fn in_phases(order: &Order, (first, last): (usize, usize)) -> Option<String> {
    let name = |phase: usize| order.phases.get(phase)?.name.as_ref();
    let (from, to) = (name(first)?, name(last)?);
    Some(match last - first {
        0 => format!("in phase {from}"),
        1 => format!("in phases {from} and {to}"),
        _ => format!("in phases {from} to {to}"),
    })
}
