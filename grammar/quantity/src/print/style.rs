//! The house's way of writing numbers and units.

use crate::{Atom, Exact, Unit};

/// How a house writes. It has no default: who prints or reads has it from the
/// house whose file it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Style {
    /// How thousands are grouped, from 10,000 up.
    pub digit_groups: DigitGroups,
    /// How micrograms and nanograms are spelt.
    pub micro: Micro,
}

/// How thousands are grouped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DigitGroups {
    /// `25,000`.
    Comma,
    /// `25 000`, with the plain space that the notation reads.
    Space,
}

/// How micrograms and nanograms are spelt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Micro {
    /// `mcg`, `ng`.
    Mcg,
    /// `micrograms`, `nanograms`.
    Micrograms,
}

impl Style {
    /// The notation's own: that of a house which says nothing else.
    pub const USUAL: Self = Self {
        digit_groups: DigitGroups::Comma,
        micro: Micro::Mcg,
    };

    /// The unit, in the plural: `units/kg/h`.
    #[must_use]
    pub fn unit(self, unit: Unit) -> String {
        self.spelt(unit, false)
    }

    /// The unit as it stands after this number: `unit` after exactly 1.
    #[must_use]
    pub fn unit_after(self, unit: Unit, value: &Exact) -> String {
        self.spelt(unit, *value == Exact::ONE)
    }

    /// One unit, in the plural where it has one.
    #[must_use]
    pub const fn atom(self, atom: Atom) -> &'static str {
        match (atom, self.micro) {
            (Atom::Mcg, Micro::Micrograms) => "micrograms",
            (Atom::Ng, Micro::Micrograms) => "nanograms",
            (atom, _) => atom.symbol(),
        }
    }

    /// One unit as it stands after 1, and below the line.
    #[must_use]
    pub const fn atom_after_one(self, atom: Atom) -> &'static str {
        match (atom, self.micro) {
            (Atom::Mcg, Micro::Micrograms) => "microgram",
            (Atom::Ng, Micro::Micrograms) => "nanogram",
            (atom, _) => atom.singular(),
        }
    }

    pub(super) fn spelt(self, unit: Unit, one: bool) -> String {
        let mut text = match unit.top {
            Some(atom) if one => self.atom_after_one(atom),
            Some(atom) => self.atom(atom),
            None => "",
        }
        .to_owned();
        for atom in unit.below() {
            text.push('/');
            text.push_str(self.atom_after_one(atom));
        }
        text
    }
}

impl DigitGroups {
    /// What stands between the groups.
    #[must_use]
    pub const fn separator(self) -> char {
        match self {
            Self::Comma => ',',
            Self::Space => ' ',
        }
    }
}
