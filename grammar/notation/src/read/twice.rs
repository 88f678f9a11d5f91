//! Facts that may stand once in a stanza or phase.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::mem::{Discriminant, discriminant};

use smol_str::SmolStr;

use super::Reader;
use crate::ast::{Fact, Line, PatientKind};
use crate::lines::{LineKind, Often};
use crate::{MarkKind, Span};

/// What was said so far.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// In the whole stanza.
    whole: HashMap<Key, Span>,
    /// In the phase.
    phase: HashMap<Key, Span>,
}

/// A fact that may stand once.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Key {
    /// Of two bags the second is one too many, however each is written.
    Of(Discriminant<Fact>),
    Patient(PatientKind),
    Substance(SmolStr),
}

impl Reader<'_> {
    /// Marks the line if its fact was given before; it is then not whole.
    pub(super) fn note_twice(&mut self, line: &Line, kind: LineKind) {
        if kind == LineKind::Phase {
            self.seen.phase.clear();
            return;
        }
        let Some(key) = key(&line.fact, kind) else {
            return;
        };
        let list = if kind.is_of_phase() {
            &mut self.seen.phase
        } else {
            &mut self.seen.whole
        };
        match list.entry(key) {
            Entry::Occupied(first) => {
                let first = *first.get();
                self.whole = false;
                self.mark(MarkKind::Twice { first }, line.span, Vec::new());
            }
            Entry::Vacant(place) => {
                place.insert(line.span);
            }
        }
    }
}

/// What may stand once.
fn key(fact: &Fact, kind: LineKind) -> Option<Key> {
    Some(match (kind.row().often, fact) {
        (Often::Any, _) => return None,
        (
            Often::OncePerSubstance,
            Fact::Contains { substance, .. } | Fact::Load { substance, .. },
        ) => Key::Substance(substance.value.clone()),
        (Often::OncePerPatientKind, Fact::Patient { kind, .. }) => Key::Patient(*kind),
        // A kind that is told apart by what its fact does not have may stand
        // once in all.
        _ => Key::Of(discriminant(fact)),
    })
}
