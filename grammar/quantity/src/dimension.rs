//! Kinds of quantity.

/// What a quantity is a quantity of: the exponent of each independent kind.
///
/// Body weight is a kind of its own, so that mg/kg never cancels to a number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    /// Mass of drug.
    pub mass: i8,
    /// Amount of substance.
    pub amount: i8,
    /// Charge equivalents.
    pub equivalents: i8,
    /// Activity.
    pub activity: i8,
    /// Volume.
    pub volume: i8,
    /// Drops.
    pub drops: i8,
    /// Time.
    pub time: i8,
    /// Body weight.
    pub weight: i8,
    /// Body surface.
    pub surface: i8,
    /// Osmoles.
    pub osmoles: i8,
    /// Energy.
    pub energy: i8,
}

macro_rules! single {
    ($($name:ident $field:ident),* $(,)?) => {$(
        #[doc = concat!("The kind `", stringify!($field), "`.")]
        pub const $name: Self = Self { $field: 1, ..Self::NONE };
    )*};
}

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self {
        mass: 0,
        amount: 0,
        equivalents: 0,
        activity: 0,
        volume: 0,
        drops: 0,
        time: 0,
        weight: 0,
        surface: 0,
        osmoles: 0,
        energy: 0,
    };
    single!(
        MASS mass, AMOUNT amount, EQUIVALENTS equivalents, ACTIVITY activity, VOLUME volume, DROPS drops, TIME time,
        WEIGHT weight, SURFACE surface, OSMOLES osmoles, ENERGY energy,
    );

    /// The kind of a product.
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self {
            mass: self.mass.saturating_add(other.mass),
            amount: self.amount.saturating_add(other.amount),
            equivalents: self.equivalents.saturating_add(other.equivalents),
            activity: self.activity.saturating_add(other.activity),
            volume: self.volume.saturating_add(other.volume),
            drops: self.drops.saturating_add(other.drops),
            time: self.time.saturating_add(other.time),
            weight: self.weight.saturating_add(other.weight),
            surface: self.surface.saturating_add(other.surface),
            osmoles: self.osmoles.saturating_add(other.osmoles),
            energy: self.energy.saturating_add(other.energy),
        }
    }

    /// The kind of a quotient.
    #[must_use]
    pub const fn minus(self, other: Self) -> Self {
        Self {
            mass: self.mass.saturating_sub(other.mass),
            amount: self.amount.saturating_sub(other.amount),
            equivalents: self.equivalents.saturating_sub(other.equivalents),
            activity: self.activity.saturating_sub(other.activity),
            volume: self.volume.saturating_sub(other.volume),
            drops: self.drops.saturating_sub(other.drops),
            time: self.time.saturating_sub(other.time),
            weight: self.weight.saturating_sub(other.weight),
            surface: self.surface.saturating_sub(other.surface),
            osmoles: self.osmoles.saturating_sub(other.osmoles),
            energy: self.energy.saturating_sub(other.energy),
        }
    }

    /// Without the patient, where it is per kg or per m2 of one.
    #[must_use]
    pub fn without_patient(self) -> Self {
        match (self.weight, self.surface) {
            (-1, 0) => Self { weight: 0, ..self },
            (0, -1) => Self { surface: 0, ..self },
            _ => self,
        }
    }

    /// A mass, an amount of substance, equivalents or activity.
    #[must_use]
    pub fn is_drug(self) -> bool {
        [Self::MASS, Self::AMOUNT, Self::EQUIVALENTS, Self::ACTIVITY].contains(&self)
    }

    /// Drug, also per kg or m2.
    #[must_use]
    pub fn is_amount(self) -> bool {
        self.without_patient().is_drug()
    }

    /// Drug per time, also per kg or m2.
    #[must_use]
    pub fn is_dose(self) -> bool {
        self.without_patient().plus(Self::TIME).is_drug()
    }

    /// Volume, also per kg or m2.
    #[must_use]
    pub fn is_volume(self) -> bool {
        self.without_patient() == Self::VOLUME
    }

    /// Volume per time, also per kg or m2.
    #[must_use]
    pub fn is_flow(self) -> bool {
        self.without_patient().plus(Self::TIME) == Self::VOLUME
    }

    /// Drops per time.
    #[must_use]
    pub fn is_drip(self) -> bool {
        self.plus(Self::TIME) == Self::DROPS
    }

    /// Drug per volume.
    #[must_use]
    pub fn is_strength(self) -> bool {
        self.plus(Self::VOLUME).is_drug()
    }

    /// What it is called in a sentence: `a flow`, `a dose by weight`.
    #[must_use]
    pub fn name(self) -> String {
        let by = match (self.weight, self.surface) {
            (-1, 0) => " by weight",
            (0, -1) => " by body surface area",
            _ => "",
        };
        let plain = match self.without_patient() {
            Self::NONE => "a plain number",
            Self::MASS => "a mass",
            Self::AMOUNT => "an amount of substance",
            Self::EQUIVALENTS => "an amount in equivalents",
            Self::ACTIVITY => "an amount in units of activity",
            Self::VOLUME => "a volume",
            Self::DROPS => "a number of drops",
            Self::TIME => "a time",
            Self::SURFACE => "a body surface area",
            Self::WEIGHT => "a body weight",
            Self::OSMOLES => "an amount of osmoles",
            Self::ENERGY => "an energy",
            kind if kind.is_flow() => "a flow",
            kind if kind.is_dose() => "a dose",
            kind if kind.is_drip() => "a drip rate",
            kind if kind.is_strength() => "a strength",
            kind if kind == Self::OSMOLES.minus(Self::VOLUME) => "an osmolarity",
            kind if kind == Self::DROPS.minus(Self::VOLUME) => "drops per volume",
            kind if kind == Self::OSMOLES.minus(Self::TIME) => "osmoles per time",
            kind if kind == Self::ENERGY.minus(Self::TIME) => "an energy per time",
            _ => "a quantity of another kind",
        };
        format!("{plain}{by}")
    }
}
