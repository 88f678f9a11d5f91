//! What a computation asked of the workspace beyond its own stanza, so that
//! it is done again when, and only when, an answer may have changed.
//!
//! One stanza reaches another by name alone, so names are what is noted: by
//! the functions of [`Workspace`](crate::Workspace) that answer for them, and
//! thus by every rule, without the rule's doing. What a file sees (its `use`
//! lines), the house and the day are not noted: a change of them is a change
//! for all that the file holds.

use std::cell::RefCell;

use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::names::Space;
use crate::source::StanzaId;

/// A question that was asked.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Query {
    /// What bears the name, and what it says.
    Name(SmolStr),
    /// Which names of the space there are.
    Sight(Space),
    /// Which stanzas mention the name.
    Mentions(SmolStr),
    /// On which line of its file the computation's own stanza stands.
    Line,
}

struct Tracer {
    own: StanzaId,
    asked: FxHashSet<Query>,
}

thread_local! {
    static TRACER: RefCell<Option<Tracer>> = const { RefCell::new(None) };
}

/// Does the work for a stanza, on this thread alone, and says what it asked.
pub fn traced<T>(own: StanzaId, work: impl FnOnce() -> T) -> (T, FxHashSet<Query>) {
    let outer = TRACER.replace(Some(Tracer {
        own,
        asked: FxHashSet::default(),
    }));
    let mut outer = Outer(Some(outer));
    let done = work();
    let inner = TRACER.replace(outer.0.take().flatten());
    (done, inner.map(|tracer| tracer.asked).unwrap_or_default())
}

/// Who listened before; it listens again when the work is left off.
struct Outer(Option<Option<Tracer>>);

impl Drop for Outer {
    fn drop(&mut self) {
        if let Some(outer) = self.0.take() {
            TRACER.set(outer);
        }
    }
}

/// Notes that the stanza's own line number was asked for.
pub fn note_line() {
    note(|| Query::Line);
}

/// Notes a question, where anyone listens.
pub(crate) fn note(asked: impl FnOnce() -> Query) {
    TRACER.with_borrow_mut(|tracer| {
        if let Some(tracer) = tracer {
            tracer.asked.insert(asked());
        }
    });
}

/// Notes that another stanza than the computation's own was looked at.
pub(crate) fn note_stanza(id: StanzaId, name: impl FnOnce() -> Option<SmolStr>) {
    TRACER.with_borrow_mut(|tracer| {
        if let Some(tracer) = tracer
            && tracer.own != id
            && let Some(name) = name()
        {
            tracer.asked.insert(Query::Name(name));
        }
    });
}
