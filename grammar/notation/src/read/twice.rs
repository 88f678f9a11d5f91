//! Facts that may stand once in a stanza or phase.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::mem::{Discriminant, discriminant};

use smol_str::SmolStr;

use super::Reader;
use crate::ast::{Fact, Line, PatientKind};
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
    Of(Discriminant<Fact>),
    Patient(PatientKind),
    Substance(SmolStr),
}

impl Reader<'_> {
    /// Marks the line if its fact was given before; it is then not whole.
    pub(super) fn note_twice(&mut self, line: &Line) {
        if matches!(line.fact, Fact::Phase { .. }) {
            self.seen.phase.clear();
            return;
        }
        let Some(key) = key(&line.fact) else {
            return;
        };
        let list = if line.fact.is_of_a_phase() {
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
fn key(fact: &Fact) -> Option<Key> {
    let key = match fact {
        Fact::Unreadable
        | Fact::PumpFlow { .. }
        | Fact::Run(_)
        | Fact::Bolus(_)
        | Fact::Flush { .. }
        | Fact::Usual(_)
        | Fact::Never(_)
        | Fact::Phase { .. }
        | Fact::Include(_)
        | Fact::LineMembers { .. }
        | Fact::Expect(_)
        | Fact::ExpectFinding(_)
        | Fact::Words { .. }
        | Fact::Waive(_)
        | Fact::Also(_)
        | Fact::Class(_)
        | Fact::Equals(_) => return None,
        Fact::Contains { substance, .. } | Fact::Load { substance, .. } => {
            Key::Substance(substance.value.clone())
        }
        Fact::Patient { kind, .. } => Key::Patient(*kind),
        other => Key::Of(discriminant(other)),
    };
    Some(key)
}
