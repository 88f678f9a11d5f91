//! What the places take at which a quantity may stand.

/// What a place takes beside the ordinary.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    /// Units that fit, the likeliest first.
    pub(super) fits: &'static [&'static str],
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
    const fn of(fits: &'static [&'static str]) -> Self {
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
    pub(super) const VOLUME: Self = Self::of(&["mL", "L"]);
    pub(super) const AMOUNT: Self = Self::of(&["mg", "mcg", "g", "units", "mmol", "mL"]);
    pub(super) const TIME: Self = Self::of(&["min", "h", "s", "days"]);
    pub(super) const FLOW: Self = Self::of(&["mL/h", "mL/kg/h"]);
    pub(super) const RATE: Self = Self::of(&["mL/h", "mcg/kg/min", "mg/h", "units/h", "drops/min"]);
    pub(super) const DOSE: Self = Self::of(&["mcg/kg/min", "mg/kg/h", "mg/h", "units/h"]);
    pub(super) const COUNT: Self = Self {
        bare: true,
        ..Self::of(&[])
    };
    pub(super) const WEIGHT: Self = Self::of(&["kg", "g"]);
    pub(super) const PATIENT: Self = Self::of(&["kg", "g", "m2"]);
    pub(super) const SURFACE: Self = Self::of(&["m2"]);
    pub(super) const AGE: Self = Self {
        age: true,
        ..Self::of(&["years", "months", "days"])
    };
    pub(super) const FLUID: Self = Self::of(&["mL/kg/day", "mL/day"]);
    pub(super) const LOAD: Self = Self::of(&["mmol/kg/day", "mg/kg/min"]);
    pub(super) const OSMOLARITY: Self = Self::of(&["mOsm/L"]);
    pub(super) const STRENGTH: Self = Self {
        percent: Percent::Strength,
        ..Self::of(&["mg/mL", "mcg/mL", "mmol/mL", "units/mL"])
    };
    pub(super) const SUPPLIED: Self = Self {
        percent: Percent::Strength,
        ..Self::AMOUNT
    };
    pub(super) const ACCURACY: Self = Self {
        percent: Percent::Share,
        ..Self::of(&["%"])
    };
    pub(super) const DROPS: Self = Self {
        bare: true,
        ..Self::of(&["drops/mL"])
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
