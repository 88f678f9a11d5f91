//! The gravest first.

use gutta_notation::StanzaKind;

use super::{Change, Subject};

/// Marked changes first; else as they were found.
pub(super) fn changes(changes: &mut [Change]) {
    changes.sort_by_key(|change| !change.marked);
}

/// Marked subjects first, then orders before what they lean on, by name.
pub(super) fn subjects(subjects: &mut [Subject]) {
    subjects.sort_by(|one, other| {
        let key = |subject: &Subject| (!subject.marked, rank(subject.kind));
        key(one)
            .cmp(&key(other))
            .then_with(|| one.name.cmp(&other.name))
    });
}

const fn rank(kind: Option<StanzaKind>) -> u8 {
    match kind {
        Some(StanzaKind::Order) => 0,
        Some(StanzaKind::Set) => 1,
        Some(StanzaKind::Drug) => 2,
        Some(StanzaKind::Ingredient) => 3,
        Some(StanzaKind::Area) => 4,
        Some(StanzaKind::Pump) => 5,
        Some(StanzaKind::GivingSet) => 6,
        Some(StanzaKind::Solution) => 7,
        Some(_) => 9,
        None => 8,
    }
}
