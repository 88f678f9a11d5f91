//! The stanzas that a line may be in.

use crate::stanzas::{STANZAS, StanzaKind as S, one_of};

/// The stanzas a line may stand in, one bit each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Homes(u16);

impl Homes {
    /// Every stanza.
    pub(crate) const ALL: Self = Self(u16::MAX);
    /// None.
    pub(crate) const NONE: Self = Self(0);

    /// The stanzas of either.
    #[must_use]
    pub(crate) const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    pub(super) const fn of(kinds: &[S]) -> Self {
        let mut bits = 0;
        let mut index = 0;
        while index < kinds.len() {
            bits |= 1 << kinds[index] as u16;
            index += 1;
        }
        Self(bits)
    }

    /// Whether the line may stand in a stanza of the kind.
    #[must_use]
    pub const fn has(self, kind: S) -> bool {
        self.0 & (1 << kind as u16) != 0
    }

    /// The keywords of the stanzas, as a phrase: `order, specimen or set`.
    #[must_use]
    pub fn phrase(self) -> String {
        let words: Vec<_> = STANZAS
            .iter()
            .filter(|stanza| self.has(stanza.kind))
            .map(|stanza| format!("`{}`", stanza.word))
            .collect();
        one_of(&words)
    }
}

pub(crate) const ORDER: Homes = Homes::of(&[S::Order, S::Specimen]);
pub(crate) const DRUG: Homes = Homes::of(&[S::Drug]);
pub(crate) const LIMITED: Homes = Homes::of(&[S::Ingredient, S::Drug]);
pub(crate) const MADE: Homes = Homes::of(&[S::Solution, S::Drug]);
pub(crate) const ALERTED: Homes = Homes::of(&[S::Drug, S::Order, S::Specimen]);
pub(crate) const PUMP: Homes = Homes::of(&[S::Pump]);
pub(crate) const TUBING: Homes = Homes::of(&[S::GivingSet]);
pub(crate) const SET: Homes = Homes::of(&[S::Set]);
pub(crate) const SUMMED: Homes = Homes::of(&[S::Area, S::Set]);
pub(crate) const PLACED: Homes = Homes::of(&[S::Area, S::Order, S::Specimen]);
pub(crate) const MEANT: Homes = Homes::of(&[S::Order, S::Specimen, S::Set]);
pub(crate) const FOR_WHOM: Homes = Homes::of(&[S::Area, S::Order, S::Specimen, S::Set]);
pub(crate) const MOST: Homes = Homes::of(&[
    S::Pump,
    S::GivingSet,
    S::Area,
    S::Solution,
    S::Ingredient,
    S::Drug,
    S::Order,
    S::Specimen,
    S::Set,
]);
