//! How much work the check of one stanza may take.
//!
//! Counted, not timed, so that every run of the command and the editor find
//! the same. On a machine of 2026 all of it stays below 50 ms.

use gutta_notation::Stanza;
use gutta_quantity::work::{self, Spent};

/// For deriving and for all rules together.
pub(super) const ALL: u64 = 100_000;

/// For the search of what explains a breach.
pub(super) const SEARCH: u64 = 20_000;

/// For the search of which findings have one cause.
pub(super) const STORY: u64 = 20_000;

/// What is left to be done.
#[derive(Debug)]
pub(super) struct Budget {
    left: u64,
    /// What a rule takes for reading the stanza once.
    once: u64,
}

impl Budget {
    /// For all rules but those that search.
    pub(super) fn of(stanza: &Stanza) -> Self {
        Self {
            left: ALL,
            once: stanza.lines.len() as u64 / 4 + 1,
        }
    }

    /// For the rules that search.
    pub(super) const fn of_search() -> Self {
        Self {
            left: SEARCH,
            once: 1,
        }
    }

    /// For telling which findings have one cause.
    pub(super) const fn of_story() -> Self {
        Self {
            left: STORY,
            once: 1,
        }
    }

    /// Does some of it. [`Spent`]: it would be more than is left.
    pub(super) fn spend<T>(&mut self, task: impl FnOnce() -> T) -> Result<T, Spent> {
        let (done, used) = work::counted(|| {
            work::within(self.left, || {
                work::charge(self.once);
                task()
            })
        });
        self.left = self.left.saturating_sub(used);
        done
    }
}
