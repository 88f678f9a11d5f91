//! The osmolarity that contents make: no fewer osmoles than these, and no more.

use gutta_quantity::Exact;
use smol_str::SmolStr;

use crate::chemistry::{Composition, Substance, substance};
use crate::model::drug::{Drug, equivalence};
use crate::model::reference::{ContainedSubstance, Solution};
use crate::model::size::DrugKind;

/// Osmoles of a fluid, base units (mOsm in a mL).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Osmoles {
    /// No fewer than these.
    pub least: Exact,
    /// No more than these; `None`: there may be something that is not stated.
    pub most: Option<Exact>,
}

impl Osmoles {
    fn stated(value: &Exact) -> Self {
        Self {
            least: value.clone(),
            most: Some(value.clone()),
        }
    }
}

/// A substance, in what it is counted, and its millimoles in a base unit of
/// volume, the least and the most, where they are known.
type Counted<'a> = (&'a SmolStr, DrugKind, Option<(Exact, Exact)>);

/// The osmoles of what is contained: each ion and each sugar by itself, a sugar
/// as if it was weighed with its water or without. Ions that no others balance
/// have others beside them that are not listed.
#[must_use]
pub fn of_contents(contents: &[ContainedSubstance]) -> Osmoles {
    let mut found: Vec<Counted<'_>> = Vec::new();
    for content in contents {
        let own = millimoles(content).map(|(least, most)| {
            let of = |per: &Exact| &content.strength * per;
            (of(&least), of(&most))
        });
        let alike = found
            .iter_mut()
            .find(|(name, kind, _)| *name == &content.substance && *kind == content.kind);
        match alike {
            Some((.., sum)) => {
                *sum = sum
                    .as_ref()
                    .zip(own)
                    .map(|(sum, own)| (&sum.0 + &own.0, &sum.1 + &own.1));
            }
            None => found.push((&content.substance, content.kind, own)),
        }
    }
    let (mut least, mut most) = (Exact::ZERO, Exact::ZERO);
    let mut charge = Exact::ZERO;
    let mut known = !contents.is_empty();
    for (index, (name, ..)) in found.iter().enumerate() {
        let alike = || found.iter().filter(|(other, ..)| other == name);
        if found.iter().position(|(other, ..)| other == name) != Some(index) {
            // One substance counted in two ways is there once.
            continue;
        }
        let ranges = || alike().filter_map(|(.., own)| own.as_ref());
        let (Some(low), Some(high)) = (
            ranges().map(|range| &range.0).max(),
            ranges().map(|range| &range.1).max(),
        ) else {
            known = false;
            continue;
        };
        least = &least + low;
        most = &most + high;
        match substance(name).and_then(Substance::charge) {
            Some((_, charges, true)) => charge = &charge + &(high * &Exact::int(charges)),
            Some((_, charges, false)) => charge = &charge - &(high * &Exact::int(charges)),
            None => known &= substance(name).is_some(),
        }
    }
    Osmoles {
        least,
        most: known.then(|| &most + &charge.abs()),
    }
}

/// Millimoles in a base unit of a content, the least and the most.
fn millimoles(content: &ContainedSubstance) -> Option<(Exact, Exact)> {
    match substance(&content.substance) {
        Some(known) => known.millimoles(content.kind),
        // A millimole of whatever it is makes one osmole or more.
        None => (content.kind == DrugKind::Amount).then_some((Exact::ONE, Exact::ONE)),
    }
}

/// The osmoles of a solution: what it states, or what its contents make where
/// that is plainly more (half as much again: then what it states is wrong).
#[must_use]
pub fn of_solution(solution: &Solution) -> Osmoles {
    let stated = solution.osmolarity.as_ref().map(|(stated, _)| stated);
    stated_or(stated, of_contents(&solution.contains))
}

/// The osmoles of a drug as it is supplied, likewise: by its contents, by its
/// own amount, or by its mass where its name says which salt or sugar it is.
#[must_use]
pub fn of_drug(drug: &Drug) -> Osmoles {
    let mut osmoles = of_contents(&drug.contains);
    let own = drug
        .supplied
        .as_ref()
        .and_then(|supplied| Some((per_unit(drug, supplied.kind)?, &supplied.strength)));
    match own {
        Some((per, strength)) => {
            let most = strength * &per.1;
            osmoles.least = osmoles.least.max(strength * &per.0);
            osmoles.most = match (osmoles.most, drug.made) {
                (Some(known), _) => Some(known.max(most)),
                (None, Some(_)) if drug.contains.is_empty() => Some(most),
                _ => None,
            };
        }
        // What the drug itself adds is not known.
        None => osmoles.most = None,
    }
    stated_or(drug.osmolarity.as_ref().map(|(stated, _)| stated), osmoles)
}

/// The least that a drug as supplied makes by its own amount, in base units.
#[must_use]
pub fn own_osmoles(drug: &Drug) -> Option<Exact> {
    let supplied = drug.supplied.as_ref()?;
    Some(&per_unit(drug, supplied.kind)?.0 * &supplied.strength)
}

/// The osmoles in a base unit of the drug, the least and the most. A drug of
/// which nothing but its amount is known makes one or more for each.
pub(super) fn per_unit(drug: &Drug, kind: DrugKind) -> Option<(Exact, Exact)> {
    let moles = || {
        let factor = equivalence(Some(drug), kind, DrugKind::Amount)?;
        Some((factor.clone(), factor))
    };
    let by_mass = || {
        let factor = equivalence(Some(drug), kind, DrugKind::Mass)?;
        let (least, most) = match drug.made? {
            Composition::Salt(salt) => salt.millimoles(DrugKind::Mass)?,
            Composition::Substance(own) => own.millimoles(DrugKind::Mass)?,
        };
        Some((&factor * &least, &factor * &most))
    };
    let (least, most) = moles().or_else(by_mass)?;
    let particles = match drug.made {
        Some(Composition::Salt(salt)) => salt.particles(),
        _ => Exact::ONE,
    };
    Some((&least * &particles, &most * &particles))
}

fn stated_or(stated: Option<&Exact>, contents: Osmoles) -> Osmoles {
    let Some(stated) = stated else {
        return contents;
    };
    let plainly_more = contents.least > stated * &Exact::ratio(3, 2).unwrap_or(Exact::ONE);
    match plainly_more {
        true => contents,
        false => Osmoles::stated(stated),
    }
}

#[cfg(test)]
mod tests {
    use gutta_notation::{Style, read_stanza};
    use gutta_quantity::{Exact, Quantity, units};

    use super::{Osmoles, of_drug, of_solution};
    use crate::model::{drug::drug, reference::solution};

    fn told(osmoles: &Osmoles) -> String {
        let shown = |base: &Exact| {
            let of = Quantity::from_base(base.clone(), units::MOSM_PER_L);
            Style::USUAL.quantity_shown(&of)
        };
        let most = osmoles.most.as_ref();
        let most = most.map_or_else(|| "?".to_owned(), |most| shown(most).to_string());
        format!("{} to {most}", shown(&osmoles.least))
    }

    #[test]
    fn solutions() {
        let of = |lines: &str| {
            let text = format!("solution a \"A\"\n{lines}");
            told(&of_solution(&solution(&read_stanza(&text, Style::USUAL))))
        };
        let saline = "  contains sodium 0.154 mmol/mL\n  contains chloride 0.154 mmol/mL\n";
        assert_eq!(of(saline), "308 mOsm/L to 308 mOsm/L");
        assert_eq!(
            of("  contains glucose 50 %\n"),
            "2523 mOsm/L to 2775 mOsm/L"
        );
        assert_eq!(
            of("  contains dextrose 500 mg/mL\n"),
            "2523 mOsm/L to 2775 mOsm/L"
        );
        // What balances it is not listed.
        assert_eq!(
            of("  contains sodium 0.154 mmol/mL\n"),
            "154 mOsm/L to 308 mOsm/L"
        );
        assert_eq!(
            of("  contains calcium 1 mEq/mL\n"),
            "500 mOsm/L to 1500 mOsm/L"
        );
        assert_eq!(of("  contains amino-acids 100 mg/mL\n"), "0 mOsm/L to ?");
        assert_eq!(of(""), "0 mOsm/L to ?");
        // One substance counted in two ways is there once.
        let twice = format!("{saline}  contains sodium 0.154 mEq/mL\n");
        assert_eq!(of(&twice), "308 mOsm/L to 308 mOsm/L");
        let stated = format!("{saline}  osmolarity 300 mOsm/L\n");
        assert_eq!(of(&stated), "300 mOsm/L to 300 mOsm/L");
        let slipped = "  contains glucose 50 %\n  osmolarity 277 mOsm/L\n";
        assert_eq!(of(slipped), "2523 mOsm/L to 2775 mOsm/L");
    }

    #[test]
    fn drugs() {
        let of = |text: &str| told(&of_drug(&drug(&read_stanza(text, Style::USUAL))));
        let glucose = "drug glucose-50 \"Glucose 50 %\"\n  supplied 25 g in 50 mL\n";
        assert_eq!(of(glucose), "2523 mOsm/L to 2775 mOsm/L");
        let potassium = "drug kcl-strong \"KCl\"\n  supplied 40 mmol in 20 mL\n  contains potassium 2 mmol/mL\n";
        assert_eq!(of(potassium), "4000 mOsm/L to 4000 mOsm/L");
        let magnesium = "drug magnesium-sulfate \"M\"\n  supplied 1 g in 2 mL\n";
        assert_eq!(of(magnesium), "4057 mOsm/L to 8308 mOsm/L");
        let other = "drug limitamine \"A drug\"\n  supplied 40 mg in 4 mL\n";
        assert_eq!(of(other), "0 mOsm/L to ?");
    }
}
