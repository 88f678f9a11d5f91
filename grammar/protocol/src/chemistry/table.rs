//! Salts and substances, with their formulas.
//!
//! Atomic weights are IUPAC's standard atomic weights, abridged to five digits
//! (2021). The greatest number of water molecules is that of the hydrate which
//! pharmacopoeias describe: labels count either.

use gutta_quantity::Exact;

use crate::counting::DrugKind;

/// Standard atomic weights, in thousandths of a gram per mole.
const ATOMS: &[(&str, i64)] = &[
    ("H", 1_008),
    ("Li", 6_940),
    ("C", 12_011),
    ("N", 14_007),
    ("O", 15_999),
    ("Na", 22_990),
    ("Mg", 24_305),
    ("P", 30_974),
    ("S", 32_060),
    ("Cl", 35_450),
    ("K", 39_098),
    ("Ca", 40_078),
    ("Zn", 65_380),
];

/// A substance that stays whole in solution: an ion, or a sugar.
#[derive(Debug, PartialEq, Eq)]
pub struct Substance {
    /// Its names; the first is the one that is told.
    pub names: &'static [&'static str],
    formula: &'static str,
    /// The most water that it is weighed with.
    water: i64,
    /// Its charges, the least and the most; nothing for what has none.
    charge: (i64, i64),
    /// Whether it is positive.
    positive: bool,
}

/// A salt, which falls into ions in solution.
#[derive(Debug, PartialEq, Eq)]
pub struct Salt {
    /// Its names; the first is the one that is told.
    pub names: &'static [&'static str],
    formula: &'static str,
    water: i64,
    /// Its ions, each with how many of it.
    pub ions: &'static [(&'static str, i64)],
}

const fn ion(
    names: &'static [&'static str],
    formula: &'static str,
    positive: bool,
    charge: (i64, i64),
) -> Substance {
    Substance {
        names,
        formula,
        water: 0,
        charge,
        positive,
    }
}

const fn plain(names: &'static [&'static str], formula: &'static str, water: i64) -> Substance {
    Substance {
        names,
        formula,
        water,
        charge: (0, 0),
        positive: false,
    }
}

const fn salt(
    names: &'static [&'static str],
    formula: &'static str,
    water: i64,
    ions: &'static [(&'static str, i64)],
) -> Salt {
    Salt {
        names,
        formula,
        water,
        ions,
    }
}

static SUBSTANCES: &[Substance] = &[
    ion(&["sodium", "natrium"], "Na", true, (1, 1)),
    ion(&["potassium", "kalium"], "K", true, (1, 1)),
    ion(&["lithium"], "Li", true, (1, 1)),
    ion(&["ammonium"], "NH4", true, (1, 1)),
    ion(&["calcium"], "Ca", true, (2, 2)),
    ion(&["magnesium"], "Mg", true, (2, 2)),
    ion(&["zinc"], "Zn", true, (2, 2)),
    ion(&["chloride"], "Cl", false, (1, 1)),
    ion(
        &["bicarbonate", "hydrogen-carbonate"],
        "HCO3",
        false,
        (1, 1),
    ),
    ion(&["acetate"], "C2H3O2", false, (1, 1)),
    ion(&["lactate"], "C3H5O3", false, (1, 1)),
    ion(&["gluconate"], "C6H11O7", false, (1, 1)),
    ion(&["malate"], "C4H4O5", false, (2, 2)),
    ion(&["sulfate", "sulphate"], "SO4", false, (2, 2)),
    ion(&["phosphate"], "PO4", false, (1, 3)),
    ion(&["citrate"], "C6H5O7", false, (3, 3)),
    plain(&["glucose", "dextrose"], "C6H12O6", 1),
    plain(&["fructose"], "C6H12O6", 0),
    plain(&["mannitol"], "C6H14O6", 0),
    plain(&["sorbitol"], "C6H14O6", 0),
    plain(&["xylitol"], "C5H12O5", 0),
    plain(&["glycerol"], "C3H8O3", 0),
    plain(&["trometamol"], "C4H11NO3", 0),
    plain(&["urea"], "CH4N2O", 0),
];

static SALTS: &[Salt] = &[
    salt(
        &["sodium-chloride", "nacl"],
        "NaCl",
        0,
        &[("sodium", 1), ("chloride", 1)],
    ),
    salt(
        &["potassium-chloride", "kcl"],
        "KCl",
        0,
        &[("potassium", 1), ("chloride", 1)],
    ),
    salt(
        &["sodium-bicarbonate", "sodium-hydrogen-carbonate", "nahco3"],
        "NaHCO3",
        0,
        &[("sodium", 1), ("bicarbonate", 1)],
    ),
    salt(
        &["sodium-acetate"],
        "NaC2H3O2",
        3,
        &[("sodium", 1), ("acetate", 1)],
    ),
    salt(
        &["potassium-acetate"],
        "KC2H3O2",
        0,
        &[("potassium", 1), ("acetate", 1)],
    ),
    salt(
        &["sodium-lactate"],
        "NaC3H5O3",
        0,
        &[("sodium", 1), ("lactate", 1)],
    ),
    salt(
        &["ammonium-chloride"],
        "NH4Cl",
        0,
        &[("ammonium", 1), ("chloride", 1)],
    ),
    salt(
        &["magnesium-sulfate", "magnesium-sulphate", "mgso4"],
        "MgSO4",
        7,
        &[("magnesium", 1), ("sulfate", 1)],
    ),
    salt(
        &["magnesium-chloride", "mgcl2"],
        "MgCl2",
        6,
        &[("magnesium", 1), ("chloride", 2)],
    ),
    salt(
        &["calcium-chloride", "cacl2"],
        "CaCl2",
        6,
        &[("calcium", 1), ("chloride", 2)],
    ),
    salt(
        &["calcium-gluconate"],
        "CaC12H22O14",
        1,
        &[("calcium", 1), ("gluconate", 2)],
    ),
    salt(
        &["potassium-dihydrogen-phosphate", "kh2po4"],
        "KH2PO4",
        0,
        &[("potassium", 1), ("phosphate", 1)],
    ),
    salt(
        &["dipotassium-phosphate", "k2hpo4"],
        "K2HPO4",
        3,
        &[("potassium", 2), ("phosphate", 1)],
    ),
    salt(
        &["sodium-dihydrogen-phosphate", "nah2po4"],
        "NaH2PO4",
        2,
        &[("sodium", 1), ("phosphate", 1)],
    ),
    salt(
        &["disodium-phosphate", "na2hpo4"],
        "Na2HPO4",
        12,
        &[("sodium", 2), ("phosphate", 1)],
    ),
];

/// Words beside a substance's name that do not change what it is.
const BESIDE: &[&str] = &[
    "ampoule",
    "ampoules",
    "anhydrous",
    "bag",
    "concentrate",
    "concentrated",
    "dihydrate",
    "for",
    "heptahydrate",
    "hexahydrate",
    "infusion",
    "injection",
    "isotonic",
    "monohydrate",
    "per",
    "percent",
    "solution",
    "sterile",
    "strong",
    "syringe",
    "vial",
];

/// What a drug or a solution is made of, where its name says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Composition {
    /// One salt.
    Salt(&'static Salt),
    /// One substance that is no ion.
    Substance(&'static Substance),
}

/// The substance of this name.
#[must_use]
pub fn substance(name: &str) -> Option<&'static Substance> {
    SUBSTANCES
        .iter()
        .find(|substance| substance.names.contains(&name))
}

/// What a name or a title speaks of: one salt or substance, with nothing
/// beside it but numbers and words that change nothing. `Calcium gluconate
/// 10 %` is one; `Insulin in glucose 5 %` is none.
#[must_use]
pub fn made(name: &str) -> Option<Composition> {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric());
    let says = |word: &&str| {
        let number = word.starts_with(|c: char| c.is_ascii_digit());
        !word.is_empty() && !number && word.len() > 1 && !BESIDE.contains(word)
    };
    let name = words.filter(says).collect::<Vec<_>>().join("-");
    let salt = SALTS
        .iter()
        .find(|salt| salt.names.contains(&name.as_str()));
    match salt {
        Some(salt) => Some(Composition::Salt(salt)),
        // Of an ion's name by itself nobody knows which salt is weighed.
        None => substance(&name)
            .filter(|known| known.charge().is_none())
            .map(Composition::Substance),
    }
}

/// Milligrams of a millimole.
fn molar_mass(formula: &str, water: i64) -> Exact {
    let mut thousandths = water * (2 * 1_008 + 15_999);
    let mut rest = formula;
    while let Some(first) = rest.get(..1) {
        let two = rest
            .get(..2)
            .filter(|two| ATOMS.iter().any(|(atom, _)| atom == two));
        let atom = two.unwrap_or(first);
        rest = rest.get(atom.len()..).unwrap_or("");
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let count = rest.get(..digits).and_then(|count| count.parse().ok());
        rest = rest.get(digits..).unwrap_or("");
        let weight = ATOMS.iter().find(|(known, _)| *known == atom);
        thousandths += weight.map_or(0, |(_, weight)| *weight) * count.unwrap_or(1_i64);
    }
    Exact::ratio(thousandths, 1_000).unwrap_or_default()
}

impl Substance {
    /// Millimoles in a base unit of it, the least and the most: by mass it may
    /// have been weighed with water. `None` for units of activity, and for
    /// equivalents of what has no charge.
    #[must_use]
    pub fn millimoles(&self, kind: DrugKind) -> Option<(Exact, Exact)> {
        match kind {
            DrugKind::Amount => Some((Exact::ONE, Exact::ONE)),
            DrugKind::Mass => per_mass(self.formula, self.water),
            DrugKind::Equivalents => {
                let per = |charge: i64| Exact::ratio(1, charge);
                Some((per(self.charge.1)?, per(self.charge.0)?))
            }
            DrugKind::Activity => None,
        }
    }

    /// Its charges, the least and the most, and whether it is positive; `None`
    /// for what has none.
    #[must_use]
    pub fn charge(&self) -> Option<(i64, i64, bool)> {
        (self.charge.0 > 0).then_some((self.charge.0, self.charge.1, self.positive))
    }
}

impl Salt {
    /// Millimoles of the salt in a base unit of it, the least and the most.
    /// `None` where its kind says nothing of the salt itself.
    #[must_use]
    pub fn millimoles(&self, kind: DrugKind) -> Option<(Exact, Exact)> {
        match kind {
            DrugKind::Amount => Some((Exact::ONE, Exact::ONE)),
            DrugKind::Mass => per_mass(self.formula, self.water),
            DrugKind::Equivalents | DrugKind::Activity => None,
        }
    }

    /// How many ions a molecule falls into.
    #[must_use]
    pub(crate) fn particles(&self) -> Exact {
        Exact::int(self.ions.iter().map(|(_, count)| count).sum())
    }
}

fn per_mass(formula: &str, water: i64) -> Option<(Exact, Exact)> {
    Some((
        molar_mass(formula, water).recip()?,
        molar_mass(formula, 0).recip()?,
    ))
}

#[cfg(test)]
mod tests;
