//! A quantity in the other units in which it is usually read.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Unit};

use crate::measures::amount_unit;
use crate::model::drug::{Ties, tied};
use crate::model::size::{DrugKind, Form, Stuff};

/// Units a thousandfold apart, rising.
const THOUSANDFOLD: [&[Atom]; 4] = [
    &[Atom::Ng, Atom::Mcg, Atom::Mg, Atom::G, Atom::Kg],
    &[Atom::Micromol, Atom::Mmol, Atom::Mol],
    &[Atom::Milliunits, Atom::Units],
    &[Atom::ML, Atom::L],
];

/// Times that are read as each other, rising.
const TIMES: [Atom; 4] = [Atom::S, Atom::Min, Atom::H, Atom::Days];

/// The quantity in the other units of its kind, the likeliest first, as far
/// as their numbers can be read: per hour for per minute, thousandfold units,
/// per cent of a strength. An amount or a dose of the drug also in its other
/// countings, as its `equals` says. A per cent is taken as weight in volume:
/// a share is not to be asked about.
#[must_use]
pub fn equivalents(quantity: &Quantity, ties: &Ties) -> Vec<Quantity> {
    let mut all = per_other_time(quantity);
    all.extend(other_countings(quantity, ties));
    all.extend(as_strength(quantity));
    all.extend(thousandfold(quantity));
    all.extend(times(quantity));
    all.dedup();
    all.retain(|other| other.unit != quantity.unit);
    all
}

/// The one of them that is worth to stand beside a limit: none for an amount
/// that is only a thousandfold apart.
#[must_use]
pub fn usual_equivalent(quantity: &Quantity, ties: &Ties) -> Option<Quantity> {
    let mut found = per_other_time(quantity);
    found.extend(other_countings(quantity, ties));
    found.extend(as_strength(quantity));
    if quantity.dimension().is_strength() {
        found.extend(thousandfold(quantity));
    }
    found.into_iter().next()
}

/// Per hour for per minute, per minute for per hour; of volumes per day.
fn per_other_time(quantity: &Quantity) -> Vec<Quantity> {
    let is_drug = Form::of(quantity.dimension()).is_some_and(|form| form.drug().is_some());
    let is_drip = quantity.dimension().is_drip();
    let other = |atom: Atom| match atom {
        _ if is_drip => None,
        Atom::S | Atom::Days => Some(if atom == Atom::S { Atom::Min } else { Atom::H }),
        Atom::Min => Some(Atom::H),
        Atom::H if is_drug => Some(Atom::Min),
        Atom::H => Some(Atom::Days),
        _ => None,
    };
    let below = quantity.unit.per;
    let Some(place) = below
        .iter()
        .position(|atom| atom.is_some_and(|atom| other(atom).is_some()))
    else {
        return Vec::new();
    };
    let mut unit = quantity.unit;
    if let Some(slot) = unit.per.get_mut(place) {
        *slot = slot.and_then(other);
    }
    quantity.convert(unit).map(readable).into_iter().collect()
}

/// In the masses, amounts and activities that the drug's `equals` ties to it.
fn other_countings(quantity: &Quantity, ties: &Ties) -> Vec<Quantity> {
    use DrugKind as K;
    let form = Form::of(quantity.dimension());
    let Some((form, kind)) = form.and_then(|form| Some((form, form.drug()?))) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for other in [K::Mass, K::Amount, K::Equivalents, K::Activity] {
        let Some(factor) = tied(ties, kind, other).filter(|_| other != kind) else {
            continue;
        };
        let unit = Unit {
            top: amount_unit(other).top,
            ..quantity.unit
        };
        let counted = Form {
            stuff: Stuff::Drug(other),
            ..form
        };
        if Form::of(unit.dimension()) == Some(counted) {
            found.push(readable(Quantity::from_base(
                quantity.base() * factor,
                unit,
            )));
        }
    }
    found
}

/// A strength in per cent or in mg/mL, per litre or per millilitre.
fn as_strength(quantity: &Quantity) -> Vec<Quantity> {
    let unit = quantity.unit;
    let others = match (unit.top, unit.per) {
        (Some(Atom::Percent), [None, None]) => vec![Unit::over(Atom::Mg, Atom::ML)],
        (Some(top), [Some(Atom::ML), None]) if top.dimension() == Dimension::MASS => {
            vec![Unit::new(Atom::Percent)]
        }
        (Some(top), [Some(Atom::ML), None]) => vec![Unit::over(top, Atom::L)],
        (Some(top), [Some(Atom::L), None]) => vec![Unit::over(top, Atom::ML)],
        _ => Vec::new(),
    };
    let of_drug = unit.dimension().is_strength();
    let found = others.into_iter().filter(|_| of_drug);
    let found = found.filter_map(|unit| quantity.convert(unit));
    let shown = |other: &Quantity| {
        other.unit != Unit::new(Atom::Percent) || other.value >= Exact::ten_to(-1)
    };
    found.map(readable).filter(shown).collect()
}

/// In the units a thousandfold larger and smaller.
fn thousandfold(quantity: &Quantity) -> Vec<Quantity> {
    let Some(top) = quantity.unit.top else {
        return Vec::new();
    };
    let family = THOUSANDFOLD.iter().find(|family| family.contains(&top));
    let Some((family, place)) =
        family.and_then(|family| Some((family, family.iter().position(|atom| *atom == top)?)))
    else {
        return Vec::new();
    };
    let beside = [place.checked_sub(1), place.checked_add(1)];
    let units = beside
        .into_iter()
        .flatten()
        .filter_map(|place| family.get(place))
        .map(|atom| Unit {
            top: Some(*atom),
            ..quantity.unit
        });
    units
        .filter_map(|unit| quantity.convert(unit))
        .filter(can_be_read)
        .collect()
}

/// A plain time in the others.
fn times(quantity: &Quantity) -> Vec<Quantity> {
    if quantity.dimension() != Dimension::TIME {
        return Vec::new();
    }
    let place = TIMES
        .iter()
        .position(|atom| Some(*atom) == quantity.unit.top);
    let Some(place) = place.filter(|_| quantity.unit.per == [None, None]) else {
        return Vec::new();
    };
    let beside = [place.checked_sub(1), place.checked_add(1)];
    let atoms = beside.into_iter().flatten().filter_map(|at| TIMES.get(at));
    atoms
        .filter_map(|atom| quantity.convert(Unit::new(*atom)))
        .filter(can_be_read)
        .collect()
}

fn can_be_read(quantity: &Quantity) -> bool {
    quantity.value >= Exact::ten_to(-2) && quantity.value < Exact::int(10_000)
}

fn readable(quantity: Quantity) -> Quantity {
    let unit = quantity.unit.readable(&quantity.value);
    quantity.convert(unit).unwrap_or(quantity)
}

#[cfg(test)]
mod tests {
    use gutta_notation::{Style, read_quantity, read_stanza};

    use super::{equivalents, usual_equivalent};
    use crate::model::drug::{Drug, Ties, drug};

    const HOUSE: Style = Style::USUAL;

    fn magnesium() -> Drug {
        let text = "drug magnesium-sulfate\n  equals 1 g, 4.06 mmol, 8.12 mEq\n";
        drug(&read_stanza(text, HOUSE))
    }

    fn others(text: &str, ties: &Ties) -> String {
        let quantity = read_quantity(text, HOUSE).and_then(|written| written.quantity());
        let all = equivalents(&quantity.unwrap(), ties);
        let all: Vec<_> = all
            .iter()
            .map(|other| HOUSE.quantity(other).to_string())
            .collect();
        all.join("; ")
    }

    #[test]
    fn a_dose_per_other_time_and_in_other_masses() {
        assert_eq!(others("0.05 mcg/kg/min", &[]), "3 mcg/kg/h; 50 ng/kg/min");
        assert_eq!(others("2 mg/kg/h", &[]), "33.33 mcg/kg/min; 2000 mcg/kg/h");
        assert_eq!(
            others("0.03 units/min", &[]),
            "1.8 units/h; 30 milliunits/min"
        );
        assert_eq!(others("4 g", &[]), "4000 mg");
    }

    #[test]
    fn a_flow_per_day_and_a_volume_in_litres() {
        assert_eq!(others("150 mL/kg/day", &[]), "6.25 mL/kg/h; 0.15 L/kg/day");
        assert_eq!(others("500 mL", &[]), "0.5 L");
        assert_eq!(others("40 drops/min", &[]), "");
        assert_eq!(others("90 min", &[]), "5400 s; 1.5 h");
    }

    #[test]
    fn in_the_countings_that_the_drug_ties_together() {
        let magnesium = magnesium();
        assert_eq!(
            others("4 g", &magnesium.equals),
            "16.24 mmol; 32.48 mEq; 4000 mg"
        );
        assert_eq!(
            others("1 g/h", &magnesium.equals),
            "16.67 mg/min; 4.06 mmol/h; 8.12 mEq/h; 1000 mg/h"
        );
    }

    #[test]
    fn beside_a_limit_stands_what_is_worth_it() {
        let beside = |text: &str, ties: &Ties| {
            let quantity = read_quantity(text, HOUSE).and_then(|written| written.quantity());
            let other = usual_equivalent(&quantity.unwrap(), ties);
            other.map(|other| HOUSE.quantity(&other).to_string())
        };
        assert_eq!(beside("2 mcg/kg/min", &[]).as_deref(), Some("120 mcg/kg/h"));
        assert_eq!(beside("16 mcg/mL", &[]).as_deref(), Some("0.016 mg/mL"));
        assert_eq!(beside("20 mg/mL", &[]).as_deref(), Some("2 %"));
        assert_eq!(beside("0.04 mmol/mL", &[]).as_deref(), Some("40 mmol/L"));
        assert_eq!(beside("4 g", &[]), None);
        assert_eq!(beside("20 min", &[]), None);
        assert_eq!(
            beside("4 g", &magnesium().equals).as_deref(),
            Some("16.24 mmol")
        );
    }
}
