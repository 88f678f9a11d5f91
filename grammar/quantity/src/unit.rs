//! Units as authors write them.

use crate::{Atom, Dimension, Exact};

/// A unit: an atom over at most two others (`mcg/kg/min`), or a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Unit {
    /// Above the line; `None` for a plain number or `1/h`.
    pub top: Option<Atom>,
    /// Below the line, in the order written: weight or surface before time.
    pub per: [Option<Atom>; 2],
}

impl Unit {
    /// A plain number.
    pub const NONE: Self = Self {
        top: None,
        per: [None, None],
    };

    /// The atom alone.
    #[must_use]
    pub const fn new(top: Atom) -> Self {
        Self {
            top: Some(top),
            per: [None, None],
        }
    }

    /// The atom over another.
    #[must_use]
    pub const fn over(top: Atom, below: Atom) -> Self {
        Self {
            top: Some(top),
            per: [Some(below), None],
        }
    }

    /// The atom over two others.
    #[must_use]
    pub const fn over2(top: Atom, below: Atom, then: Atom) -> Self {
        Self {
            top: Some(top),
            per: [Some(below), Some(then)],
        }
    }

    /// This over one more; `None` where two stand there already.
    #[must_use]
    pub const fn per(self, below: Atom) -> Option<Self> {
        match self.per {
            [None, _] => Some(Self {
                per: [Some(below), None],
                ..self
            }),
            [first, None] => Some(Self {
                per: [first, Some(below)],
                ..self
            }),
            [Some(_), Some(_)] => None,
        }
    }

    /// The unit that the notation spells so: above the line singular or
    /// plural, below it the singular alone (`mL/day`).
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('/');
        let mut unit = Self::new(Atom::from_symbol(parts.next()?)?);
        for part in parts {
            let atom = Atom::from_symbol(part).filter(|atom| atom.singular() == part)?;
            unit = unit.per(atom)?;
        }
        Some(unit)
    }

    /// As the notation's table spells it, in the plural: `mcg/kg/min`.
    pub(crate) fn symbol(self) -> String {
        let mut text = self.top.map_or("", Atom::symbol).to_owned();
        for atom in self.below() {
            text.push('/');
            text.push_str(atom.singular());
        }
        text
    }

    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        let top = self.top.map_or(Dimension::NONE, Atom::dimension);
        self.below().fold(top, |dimension, atom| {
            dimension.minus(atom.dimension_below())
        })
    }

    /// One of it in base units; see [`Atom::factor`].
    #[must_use]
    pub fn factor(self) -> Exact {
        let top = self.top.map_or(Exact::ONE, Atom::factor);
        self.below().fold(top, |factor, atom| {
            factor.checked_div(&atom.factor_below()).unwrap_or(factor)
        })
    }

    /// Its UCUM code (case-sensitive); none where drops are in it.
    #[must_use]
    pub fn ucum(self) -> Option<String> {
        let mut code = self.top.map_or(Some("1"), Atom::ucum)?.to_owned();
        for atom in self.below() {
            code.push('/');
            code.push_str(atom.ucum()?);
        }
        Some(code)
    }

    /// Whether both measure the same kind.
    #[must_use]
    pub fn commensurable(self, other: Self) -> bool {
        self.dimension() == other.dimension()
    }

    /// Whether weight or surface stands before time below the line.
    #[must_use]
    pub fn is_canonical_order(self) -> bool {
        let time = |atom: Atom| atom.dimension() == Dimension::TIME;
        !matches!(self.per, [Some(first), Some(second)] if time(first) && !time(second))
    }

    /// The unit of the same kind that the value, counted in this one, reads
    /// best in: of masses the nearest one whose number is from 1 up to below
    /// 10,000 (0.05 mg reads best in `mcg`). Everything else stays.
    #[must_use]
    pub fn readable(self, value: &Exact) -> Self {
        const MASSES: [Atom; 5] = [Atom::Ng, Atom::Mcg, Atom::Mg, Atom::G, Atom::Kg];
        let place = MASSES.iter().position(|mass| Some(*mass) == self.top);
        let Some(mut place) = place.filter(|_| !value.is_zero()) else {
            return self;
        };
        let thousand = Exact::int(1_000);
        let mut number = value.abs();
        while number < Exact::ONE && place > 0 {
            place -= 1;
            number = &number * &thousand;
        }
        while number >= Exact::int(10_000) && place + 1 < MASSES.len() {
            place += 1;
            number = &number * &Exact::ten_to(-3);
        }
        Self {
            top: MASSES.get(place).copied(),
            ..self
        }
    }

    /// The atoms below the line.
    pub fn below(self) -> impl Iterator<Item = Atom> {
        self.per.into_iter().flatten()
    }
}

/// The units that the tool itself speaks in.
pub mod units {
    use super::{Atom, Unit};

    macro_rules! units {
        ($($name:ident = $unit:expr, $text:literal;)*) => {$(
            #[doc = concat!("`", $text, "`")]
            pub const $name: Unit = $unit;
        )*};
    }
    units! {
        KG = Unit::new(Atom::Kg), "kg";
        G = Unit::new(Atom::G), "g";
        MG = Unit::new(Atom::Mg), "mg";
        MCG = Unit::new(Atom::Mcg), "mcg";
        MMOL = Unit::new(Atom::Mmol), "mmol";
        MEQ = Unit::new(Atom::MEq), "mEq";
        UNITS = Unit::new(Atom::Units), "units";
        L = Unit::new(Atom::L), "L";
        ML = Unit::new(Atom::ML), "mL";
        DROPS = Unit::new(Atom::Drops), "drops";
        S = Unit::new(Atom::S), "s";
        MIN = Unit::new(Atom::Min), "min";
        H = Unit::new(Atom::H), "h";
        DAYS = Unit::new(Atom::Days), "days";
        MONTHS = Unit::new(Atom::Months), "months";
        YEARS = Unit::new(Atom::Years), "years";
        M2 = Unit::new(Atom::M2), "m2";
        PERCENT = Unit::new(Atom::Percent), "%";
        ML_PER_H = Unit::over(Atom::ML, Atom::H), "mL/h";
        ML_PER_MIN = Unit::over(Atom::ML, Atom::Min), "mL/min";
        ML_PER_DAY = Unit::over(Atom::ML, Atom::Days), "mL/day";
        ML_PER_KG_PER_H = Unit::over2(Atom::ML, Atom::Kg, Atom::H), "mL/kg/h";
        ML_PER_KG_PER_DAY = Unit::over2(Atom::ML, Atom::Kg, Atom::Days), "mL/kg/day";
        DROPS_PER_MIN = Unit::over(Atom::Drops, Atom::Min), "drops/min";
        DROPS_PER_ML = Unit::over(Atom::Drops, Atom::ML), "drops/mL";
        MG_PER_ML = Unit::over(Atom::Mg, Atom::ML), "mg/mL";
        MCG_PER_ML = Unit::over(Atom::Mcg, Atom::ML), "mcg/mL";
        UNITS_PER_ML = Unit::over(Atom::Units, Atom::ML), "units/mL";
        MMOL_PER_ML = Unit::over(Atom::Mmol, Atom::ML), "mmol/mL";
        MEQ_PER_ML = Unit::over(Atom::MEq, Atom::ML), "mEq/mL";
        MOSM_PER_L = Unit::over(Atom::MOsm, Atom::L), "mOsm/L";
        MCG_PER_KG_PER_MIN = Unit::over2(Atom::Mcg, Atom::Kg, Atom::Min), "mcg/kg/min";
        MG_PER_H = Unit::over(Atom::Mg, Atom::H), "mg/h";
        UNITS_PER_H = Unit::over(Atom::Units, Atom::H), "units/h";
        MG_PER_KG_PER_H = Unit::over2(Atom::Mg, Atom::Kg, Atom::H), "mg/kg/h";
        MMOL_PER_KG_PER_DAY = Unit::over2(Atom::Mmol, Atom::Kg, Atom::Days), "mmol/kg/day";
        MG_PER_KG_PER_MIN = Unit::over2(Atom::Mg, Atom::Kg, Atom::Min), "mg/kg/min";
    }
}
