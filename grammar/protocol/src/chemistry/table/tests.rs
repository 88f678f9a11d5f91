use gutta_quantity::Exact;

use super::{Composition, SALTS, SUBSTANCES, made, molar_mass, substance};

#[test]
fn molar_masses_are_those_of_the_books() {
    for (formula, water, thousandths) in [
        ("NaCl", 0, 58_440),
        ("C6H12O6", 0, 180_156),
        ("C6H12O6", 1, 198_171),
        ("MgSO4", 7, 246_466),
        ("CaC12H22O14", 1, 448_387),
        ("CaCl2", 2, 147_008),
        ("NaHCO3", 0, 84_006),
        ("KCl", 0, 74_548),
    ] {
        let mass = molar_mass(formula, water);
        assert_eq!(mass, Exact::ratio(thousandths, 1000).unwrap(), "{formula}");
    }
}

#[test]
fn a_salt_is_as_heavy_and_as_charged_as_its_ions() {
    for salt in SALTS {
        let mut charge = (0, 0);
        for (name, count) in salt.ions {
            let ion = substance(name).unwrap();
            let (low, high, positive) = ion.charge().unwrap();
            let sign = if positive { *count } else { -count };
            charge.0 += sign * if positive { high } else { low };
            charge.1 += sign * if positive { low } else { high };
        }
        assert!(
            charge.1 <= 0 && charge.0 >= 0,
            "{:?} {charge:?}",
            salt.names
        );
    }
}

#[test]
fn no_name_is_two_substances() {
    let names = SUBSTANCES.iter().flat_map(|substance| substance.names);
    let names = names.chain(SALTS.iter().flat_map(|salt| salt.names));
    let mut names: Vec<_> = names.collect();
    names.sort();
    assert!(names.windows(2).all(|pair| pair[0] != pair[1]));
}

#[test]
fn names_and_titles_speak_of_one_substance_or_none() {
    let told = |name| match made(name) {
        Some(Composition::Salt(salt)) => salt.names[0],
        Some(Composition::Substance(substance)) => substance.names[0],
        None => "",
    };
    assert_eq!(told("Calcium gluconate 10 %"), "calcium-gluconate");
    assert_eq!(told("glucose-50"), "glucose");
    assert_eq!(told("Dextrose 50 % injection"), "glucose");
    assert_eq!(
        told("Magnesium sulphate 50 %, ampoules"),
        "magnesium-sulfate"
    );
    assert_eq!(told("MgSO4"), "magnesium-sulfate");
    assert_eq!(told("Insulin in glucose 5 %"), "");
    assert_eq!(told("magnesium"), "");
    assert_eq!(told("Glucose 5 % in sodium chloride 0.9 %"), "");
    assert_eq!(told("Calcium gluconate (as calcium)"), "");
}
