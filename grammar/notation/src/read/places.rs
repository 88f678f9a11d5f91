//! What the places take at which a quantity may stand.

use gutta_quantity::{Unit, units};

/// What a place takes beside the ordinary.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    /// Units that fit, the likeliest first.
    pub(super) fits: &'static [Unit],
    /// Whether zero has a meaning.
    pub(super) zero: bool,
    /// Whether trailing zeros are right.
    pub(super) zeros: bool,
    /// Whether `%` may stand, and as a strength also `1:1,000`.
    pub(super) percent: Percent,
    /// Whether `weeks`, `months` and `years` may stand.
    pub(super) age: bool,
    /// Whether the unit may be left out here.
    pub(super) bare: bool,
    /// Whether `below Q` is a range here.
    pub(super) below: bool,
}

/// What `%` means at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Percent {
    /// Nothing.
    No,
    /// A share.
    Share,
    /// 10 mg/mL.
    Strength,
}

impl Place {
    const fn of(fits: &'static [Unit]) -> Self {
        Self {
            fits,
            zero: false,
            zeros: false,
            percent: Percent::No,
            age: false,
            bare: false,
            below: false,
        }
    }
    pub(super) const VOLUME: Self = Self::of(&[units::ML, units::L]);
    pub(super) const AMOUNT: Self = Self::of(&[
        units::MG,
        units::MCG,
        units::G,
        units::UNITS,
        units::MMOL,
        units::ML,
    ]);
    pub(super) const TIME: Self = Self::of(&[units::MIN, units::H, units::S, units::DAYS]);
    pub(super) const FLOW: Self = Self::of(&[units::ML_PER_H, units::ML_PER_KG_PER_H]);
    pub(super) const RATE: Self = Self::of(&[
        units::ML_PER_H,
        units::MCG_PER_KG_PER_MIN,
        units::MG_PER_H,
        units::UNITS_PER_H,
        units::DROPS_PER_MIN,
    ]);
    pub(super) const DOSE: Self = Self::of(&[
        units::MCG_PER_KG_PER_MIN,
        units::MG_PER_KG_PER_H,
        units::MG_PER_H,
        units::UNITS_PER_H,
    ]);
    pub(super) const COUNT: Self = Self {
        bare: true,
        ..Self::of(&[])
    };
    pub(super) const WEIGHT: Self = Self::of(&[units::KG, units::G]);
    pub(super) const PATIENT: Self = Self::of(&[units::KG, units::G, units::M2]);
    pub(super) const SURFACE: Self = Self::of(&[units::M2]);
    pub(super) const AGE: Self = Self {
        age: true,
        ..Self::of(&[units::YEARS, units::MONTHS, units::DAYS])
    };
    pub(super) const FLUID: Self = Self::of(&[units::ML_PER_KG_PER_DAY, units::ML_PER_DAY]);
    pub(super) const LOAD: Self = Self::of(&[units::MMOL_PER_KG_PER_DAY, units::MG_PER_KG_PER_MIN]);
    pub(super) const OSMOLARITY: Self = Self::of(&[units::MOSM_PER_L]);
    pub(super) const STRENGTH: Self = Self {
        percent: Percent::Strength,
        ..Self::of(&[
            units::MG_PER_ML,
            units::MCG_PER_ML,
            units::MMOL_PER_ML,
            units::UNITS_PER_ML,
        ])
    };
    pub(super) const SUPPLIED: Self = Self {
        percent: Percent::Strength,
        ..Self::AMOUNT
    };
    pub(super) const ACCURACY: Self = Self {
        percent: Percent::Share,
        ..Self::of(&[units::PERCENT])
    };
    pub(super) const DROPS: Self = Self {
        bare: true,
        ..Self::of(&[units::DROPS_PER_ML])
    };

    /// The same, with trailing zeros right.
    pub(super) const fn expected(self) -> Self {
        Self {
            zeros: true,
            ..self
        }
    }

    /// The same, as a condition's band.
    pub(super) const fn band(self) -> Self {
        Self {
            below: true,
            ..self
        }
    }

    /// The same, as a range's lower end.
    pub(super) const fn low(self) -> Self {
        Self {
            zero: true,
            bare: true,
            ..self
        }
    }
}
