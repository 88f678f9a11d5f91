//! How values, bounds and patients are told in a message.

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::curve::Region;
use gutta_protocol::derive::{Variable, View};
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::LimitBound;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::Extent;
use gutta_quantity::print::{decimal_exact, shown, threshold};
use gutta_quantity::{Atom, Exact, Quantity, Rounding, Unit, units};

/// A value in base units as people read it in `unit`: `3.2 mL/h`.
pub(crate) fn told(base: &Exact, unit: Unit) -> String {
    Quantity::from_base(base.clone(), unit).shown()
}

/// A value beyond a bound, in enough digits to be seen apart from it.
pub(crate) fn told_apart(base: &Exact, bound: &Exact, unit: Unit) -> String {
    let everyday = told(base, unit);
    if everyday == told(bound, unit) && base != bound {
        Quantity::from_base(base.clone(), unit).to_string()
    } else {
        everyday
    }
}

/// One patient: `70 kg`, `1.8 m2`. A number that is short stands as it is: what
/// is said of 125.4 kg need not hold at 125 kg.
pub(crate) fn patient(view: &View, x: &Exact) -> Option<String> {
    let unit = axis(view)?;
    let short = x.decimals().is_some_and(|decimals| decimals <= 6);
    let number = decimal_exact(x).filter(|_| short);
    Some(format!(
        "{} {unit}",
        number.unwrap_or_else(|| shown(x, unit))
    ))
}

fn axis(view: &View) -> Option<Unit> {
    match view.patients.variable {
        Variable::Weight => Some(units::KG),
        Variable::Surface => Some(units::M2),
        Variable::Nothing => None,
    }
}

/// The other of weight and surface, where the order ranges over both.
pub(crate) fn fixed(view: &View) -> Option<String> {
    let (curve, unit) = match view.patients.variable {
        Variable::Weight => (view.patients.surface.as_ref()?, units::M2),
        Variable::Surface => (view.patients.weight.as_ref()?, units::KG),
        Variable::Nothing => return None,
    };
    Some(format!("{} {unit}", shown(curve.is_constant()?, unit)))
}

/// For which patients something holds, as the start of a sentence: `above
/// 106.6 kg`, `from 40 to 150 kg`; nothing where no patient is told from
/// another. Printed thresholds are rounded to the safe side: outwards.
#[must_use]
pub fn whom(view: &View, regions: &[Region]) -> Option<String> {
    let mut told = stretches(view, regions)?;
    if let Some(fixed) = fixed(view) {
        told.push_str(&format!(" (with {fixed})"));
    }
    Some(told)
}

/// The same, where the other of weight and surface does not matter.
pub(crate) fn stretches(view: &View, regions: &[Region]) -> Option<String> {
    let unit = axis(view)?;
    let (lo, hi) = (view.patients.interval.lo(), view.patients.interval.hi());
    let parts: Vec<_> = regions
        .iter()
        .map(|region| stretch(region, lo, hi, unit))
        .collect();
    Some(crate::words::all_of(&parts))
}

fn stretch(region: &Region, lo: &Exact, hi: &Exact, unit: Unit) -> String {
    let down = |x: &Exact| threshold(x, unit, Rounding::Down);
    let up = |x: &Exact| threshold(x, unit, Rounding::Up);
    // An end of the range at which the bound is just kept is not among them.
    let from_start = region.from.x <= *lo && region.from.included;
    let to_end = region.to.x >= *hi && region.to.included;
    match (from_start, to_end) {
        _ if region.from.x == region.to.x => format!("at {}", down(&region.from.x)),
        (true, true) => format!("from {} to {}", down(lo), up(hi)),
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
pub fn bound_of_patients(base: &Exact, unit: Unit) -> String {
    let quantity = match unit {
        // kg above the line is a mass to its unit; here it is the patient's.
        units::KG if *base < Exact::ONE => Quantity::new(base * &Exact::int(1_000), units::G),
        units::KG => Quantity::new(base.clone(), units::KG),
        _ => Quantity::from_base(base.clone(), unit),
    };
    quantity.to_string()
}

/// A range of patients: `40 kg to 150 kg`, `40 kg or more`.
#[must_use]
pub fn range_of_patients(extent: &Extent, unit: Unit) -> String {
    let end = |end: &Option<Exact>| end.as_ref().map(|end| bound_of_patients(end, unit));
    range_between(end(&extent.low), end(&extent.high), extent.high_excluded)
}

fn range_between(low: Option<String>, high: Option<String>, high_excluded: bool) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("{low} or more"),
        (None, Some(high)) if high_excluded => format!("less than {high}"),
        (None, Some(high)) => format!("up to {high}"),
        (None, None) => "any".to_owned(),
    }
}

/// The lower end of a range of patients: of an age, as it is written.
pub(crate) fn low_as_written(extent: &Extent, unit: Unit) -> Option<String> {
    let unit = as_written(extent.units.0, unit);
    extent.low.as_ref().map(|low| bound_of_patients(low, unit))
}

/// The upper end, likewise.
pub(crate) fn high_as_written(extent: &Extent, unit: Unit) -> Option<String> {
    let unit = as_written(extent.units.1, unit);
    extent
        .high
        .as_ref()
        .map(|high| bound_of_patients(high, unit))
}

/// The unit of an age that is written in this one: weeks are no share of a year.
fn as_written(written: Option<Unit>, unit: Unit) -> Unit {
    let age = unit.commensurable(units::DAYS);
    written.filter(|_| age).unwrap_or(unit)
}

/// A range of patients: of ages, as it is written.
pub(crate) fn range_as_written(extent: &Extent, unit: Unit) -> String {
    let (low, high) = (low_as_written(extent, unit), high_as_written(extent, unit));
    range_between(low, high, extent.high_excluded)
}

/// A range of ages, in the longest unit in which both ends are whole: `16
/// years to 110 years`.
#[must_use]
pub fn range_of_ages(extent: &Extent) -> String {
    let ends = [&extent.low, &extent.high].into_iter().flatten();
    range_of_patients(extent, unit_of_ages(ends))
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
pub(crate) fn bound_told(bound: &LimitBound) -> String {
    Quantity::from_base(bound.bound.clone(), bound.unit).to_string()
}

/// The subject of a breach's sentence, with the drug's name where that is to
/// be told.
pub(crate) fn subject(order: &Order, breach: &Breach, drug: Option<&str>) -> String {
    let of = drug.map_or_else(String::new, |drug| format!(" of {drug}"));
    let name = match breach.bound.measure {
        LimitMeasure::Dose if breach.reading.load => format!("the dose{of} in the load"),
        LimitMeasure::Flow if breach.reading.load => format!("the flow{of} in the load"),
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
