//! The house's way of writing, as far as reading and formatting need it.

/// How a house writes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Style {
    /// How thousands are grouped.
    pub digit_groups: DigitGroups,
    /// How micrograms are spelt.
    pub micro: Micro,
}

/// How thousands are grouped.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum DigitGroups {
    /// `25,000`.
    #[default]
    Comma,
    /// `25 000`.
    Space,
}

/// How micrograms are spelt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Micro {
    /// `mcg`.
    #[default]
    Mcg,
    /// `micrograms`.
    Micrograms,
}
