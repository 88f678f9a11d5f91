//! The units of the notation's table, and the two of body weight that are read
//! with a finding.

use crate::{Dimension, Exact};

/// One unit that is read, standing alone or on one side of `/`: those of the
/// notation's table, then pound and ounce.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Atom {
    /// Kilogram: of drug above the line, of the patient below it.
    Kg,
    /// Gram.
    G,
    /// Milligram.
    Mg,
    /// Microgram.
    Mcg,
    /// Nanogram.
    Ng,
    /// Mole.
    Mol,
    /// Millimole.
    Mmol,
    /// Micromole.
    Micromol,
    /// Milliequivalent.
    MEq,
    /// International unit of activity.
    Units,
    /// A thousandth of a unit of activity.
    Milliunits,
    /// Litre.
    L,
    /// Millilitre.
    ML,
    /// Drop: how many make a millilitre is the giving set's.
    Drops,
    /// Second.
    S,
    /// Minute.
    Min,
    /// Hour.
    H,
    /// Day of 24 hours.
    Days,
    /// Week, of ages alone.
    Weeks,
    /// Month of 365.25/12 days, of ages alone.
    Months,
    /// Year of 365.25 days, of ages alone.
    Years,
    /// Square metre of body surface.
    M2,
    /// Milliosmole.
    MOsm,
    /// Kilocalorie.
    Kcal,
    /// Per cent: weight in volume (10 mg/mL) of a solution, else a share.
    Percent,
    /// Pound: as `Kg`; no unit of the table.
    Lb,
    /// Ounce, a sixteenth of a pound: as `Kg`; no unit of the table.
    Oz,
}

/// How each is spelt, and after 1 and below the line where that differs.
macro_rules! spellings {
    ($($atom:ident $symbol:literal $(or $singular:literal)?),* $(,)?) => {
        /// Every unit, in the order of the notation's table, then the others.
        pub const ALL: &'static [Self] = &[$(Self::$atom),*];

        /// As the notation writes it, in the plural where it has one.
        pub(crate) const fn symbol(self) -> &'static str {
            match self {
                $(Self::$atom => $symbol,)*
            }
        }

        /// As the notation writes it after 1 and below the line.
        pub(crate) const fn singular(self) -> &'static str {
            match self {
                $($(Self::$atom => $singular,)?)*
                other => other.symbol(),
            }
        }

        /// The unit that the notation writes so, in either number.
        #[must_use]
        pub fn from_symbol(text: &str) -> Option<Self> {
            Some(match text {
                $($symbol $(| $singular)? => Self::$atom,)*
                _ => return None,
            })
        }
    };
}

/// What is also read, spelt out.
macro_rules! words {
    ($($atom:ident $($word:literal)|+),* $(,)?) => {
        /// The units that are also read spelt out, each with the word.
        pub const WORDS: &'static [(&'static str, Self)] = &[$($(($word, Self::$atom),)+)*];

        /// The unit that is also read when spelt out so.
        #[must_use]
        pub fn from_word(text: &str) -> Option<Self> {
            Some(match text {
                $($($word)|+ => Self::$atom,)*
                _ => return None,
            })
        }
    };
}

impl Atom {
    spellings! {
        Kg "kg", G "g", Mg "mg", Mcg "mcg", Ng "ng",
        Mol "mol", Mmol "mmol", Micromol "micromol", MEq "mEq",
        Units "units" or "unit", Milliunits "milliunits" or "milliunit",
        L "L", ML "mL", Drops "drops" or "drop",
        S "s", Min "min", H "h", Days "days" or "day",
        Weeks "weeks" or "week", Months "months" or "month", Years "years" or "year",
        M2 "m2", MOsm "mOsm", Kcal "kcal", Percent "%", Lb "lb", Oz "oz",
    }

    words! {
        Mcg "microgram" | "micrograms",
        Ng "nanogram" | "nanograms",
        Mg "milligram" | "milligrams",
        G "gram" | "grams",
        Kg "kilogram" | "kilograms",
        L "litre" | "litres" | "liter" | "liters",
        ML "millilitre" | "millilitres" | "milliliter" | "milliliters",
        H "hour" | "hours",
        Min "minute" | "minutes" | "mins",
        S "second" | "seconds",
    }

    /// Whether it stands in the notation's table: pound and ounce do not.
    #[must_use]
    pub const fn is_of_the_table(self) -> bool {
        !matches!(self, Self::Lb | Self::Oz)
    }

    /// What it measures, standing above the line: `kg` is a mass there. Per
    /// cent is weight in volume; as a share it is a hundredth, and whoever
    /// reads a share says so.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Kg | Self::G | Self::Mg | Self::Mcg | Self::Ng | Self::Lb | Self::Oz => {
                Dimension::MASS
            }
            Self::Mol | Self::Mmol | Self::Micromol => Dimension::AMOUNT,
            Self::MEq => Dimension::EQUIVALENTS,
            Self::Units | Self::Milliunits => Dimension::ACTIVITY,
            Self::L | Self::ML => Dimension::VOLUME,
            Self::Drops => Dimension::DROPS,
            Self::S
            | Self::Min
            | Self::H
            | Self::Days
            | Self::Weeks
            | Self::Months
            | Self::Years => Dimension::TIME,
            Self::M2 => Dimension::SURFACE,
            Self::MOsm => Dimension::OSMOLES,
            Self::Kcal => Dimension::ENERGY,
            Self::Percent => Dimension::MASS.minus(Dimension::VOLUME),
        }
    }

    /// What it measures, standing below the line: kilograms, grams, pounds and
    /// ounces are the patient's weight there.
    #[must_use]
    pub const fn dimension_below(self) -> Dimension {
        match self {
            Self::Kg | Self::G | Self::Lb | Self::Oz => Dimension::WEIGHT,
            other => other.dimension(),
        }
    }

    /// One of it in base units. The base units are mg, mmol, mEq, unit, mL,
    /// drop, min, m2, mOsm, kcal, and kg of body weight.
    #[must_use]
    pub fn factor(self) -> Exact {
        match self {
            Self::Kg => Exact::int(1_000_000),
            Self::G | Self::Mol | Self::L => Exact::int(1_000),
            Self::Mg
            | Self::Mmol
            | Self::MEq
            | Self::Units
            | Self::ML
            | Self::Drops
            | Self::Min
            | Self::M2
            | Self::MOsm
            | Self::Kcal => Exact::ONE,
            Self::Mcg | Self::Micromol | Self::Milliunits => Exact::ten_to(-3),
            Self::Ng => Exact::ten_to(-6),
            Self::S => Exact::ratio(1, 60).unwrap_or_default(),
            Self::H => Exact::int(60),
            Self::Days => Exact::int(24 * 60),
            Self::Weeks => Exact::int(7 * 24 * 60),
            // 365.25/12 days are 43,830 minutes.
            Self::Months => Exact::int(43_830),
            Self::Years => Exact::int(525_960),
            Self::Percent => Exact::int(10),
            Self::Lb | Self::Oz => self.factor_below() * Self::Kg.factor(),
        }
    }

    /// One of it below the line, in base units there.
    #[must_use]
    pub fn factor_below(self) -> Exact {
        match self {
            Self::Kg => Exact::ONE,
            Self::G => Exact::ten_to(-3),
            // The international pound: UCUM 2.2 (2024), `[lb_av]`.
            Self::Lb => Exact::ratio(45_359_237, 100_000_000).unwrap_or_default(),
            Self::Oz => Exact::ratio(45_359_237, 1_600_000_000).unwrap_or_default(),
            other => other.factor(),
        }
    }

    /// Its UCUM code (case-sensitive), from the notation's table; drops have
    /// none.
    #[must_use]
    pub const fn ucum(self) -> Option<&'static str> {
        Some(match self {
            Self::Mcg => "ug",
            Self::Micromol => "umol",
            Self::MEq => "meq",
            Self::Units => "[iU]",
            Self::Milliunits => "m[iU]",
            Self::Days => "d",
            Self::Weeks => "wk",
            Self::Months => "mo",
            Self::Years => "a",
            Self::MOsm => "mosm",
            Self::Lb => "[lb_av]",
            Self::Oz => "[oz_av]",
            Self::Drops => return None,
            other => other.symbol(),
        })
    }
}
