//! The ways of counting a drug or a substance.

use gutta_quantity::Dimension;

/// What a drug is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DrugKind {
    /// By mass.
    Mass,
    /// By amount of substance.
    Amount,
    /// By charge equivalents.
    Equivalents,
    /// By activity.
    Activity,
}

impl DrugKind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Mass, Self::Amount, Self::Equivalents, Self::Activity];

    /// Its dimension.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Mass => Dimension::MASS,
            Self::Amount => Dimension::AMOUNT,
            Self::Equivalents => Dimension::EQUIVALENTS,
            Self::Activity => Dimension::ACTIVITY,
        }
    }

    /// The word for it in a sentence.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mass => "mass",
            Self::Amount => "amount of substance",
            Self::Equivalents => "equivalents",
            Self::Activity => "units of activity",
        }
    }
}
