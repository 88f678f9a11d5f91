//! The units of the notation's table.

use crate::{Dimension, Exact};

/// One unit of the notation's table, standing alone or on one side of `/`.
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
}

/// How each is spelt, and after 1 and below the line where that differs.
macro_rules! spellings {
    ($($atom:ident $symbol:literal $(or $singular:literal)?),* $(,)?) => {
        /// Every unit, in the order of the notation's table.
        pub const ALL: &'static [Self] = &[$(Self::$atom),*];

        /// As the notation writes it, in the plural where it has one.
        #[must_use]
        pub const fn symbol(self) -> &'static str {
            match self {
                $(Self::$atom => $symbol,)*
            }
        }

        /// As the notation writes it after 1 and below the line.
        #[must_use]
        pub const fn singular(self) -> &'static str {
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

impl Atom {
    spellings! {
        Kg "kg", G "g", Mg "mg", Mcg "mcg", Ng "ng",
        Mol "mol", Mmol "mmol", Micromol "micromol", MEq "mEq",
        Units "units" or "unit", Milliunits "milliunits" or "milliunit",
        L "L", ML "mL", Drops "drops" or "drop",
        S "s", Min "min", H "h", Days "days" or "day",
        Weeks "weeks" or "week", Months "months" or "month", Years "years" or "year",
        M2 "m2", MOsm "mOsm", Kcal "kcal", Percent "%",
    }

    /// The unit that is also read when spelt out so.
    #[must_use]
    pub fn from_word(text: &str) -> Option<Self> {
        Some(match text {
            "microgram" | "micrograms" => Self::Mcg,
            "nanogram" | "nanograms" => Self::Ng,
            "milligram" | "milligrams" => Self::Mg,
            "gram" | "grams" => Self::G,
            "kilogram" | "kilograms" => Self::Kg,
            "litre" | "litres" | "liter" | "liters" => Self::L,
            "millilitre" | "millilitres" | "milliliter" | "milliliters" => Self::ML,
            "hour" | "hours" => Self::H,
            "minute" | "minutes" | "mins" => Self::Min,
            "second" | "seconds" => Self::S,
            _ => return None,
        })
    }

    /// What it measures, standing above the line: `kg` is a mass there. Per
    /// cent is weight in volume; as a share it is a hundredth, and whoever
    /// reads a share says so.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Kg | Self::G | Self::Mg | Self::Mcg | Self::Ng => Dimension::MASS,
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

    /// What it measures, standing below the line: `kg` and `g` are the
    /// patient's weight there.
    #[must_use]
    pub const fn dimension_below(self) -> Dimension {
        match self {
            Self::Kg | Self::G => Dimension::WEIGHT,
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
        }
    }

    /// One of it below the line, in base units there.
    #[must_use]
    pub fn factor_below(self) -> Exact {
        match self {
            Self::Kg => Exact::ONE,
            Self::G => Exact::ten_to(-3),
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
            Self::Drops => return None,
            other => other.symbol(),
        })
    }
}
