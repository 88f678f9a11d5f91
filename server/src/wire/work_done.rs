//! How much was done so far, for whoever looks for what is slow.

use std::sync::atomic::{AtomicU64, Ordering};

use gutta_quantity::work;
use serde::Serialize;

/// What was done so far, for whoever looks for what is slow.
#[derive(Debug, Default)]
pub(super) struct WorkDone {
    /// The most that was done at once on the thread that holds the state.
    longest: AtomicU64,
    /// What was done aside.
    pub(super) aside: AtomicU64,
}

/// The same, told.
#[derive(Debug, Serialize)]
pub(super) struct WorkReport {
    longest: u64,
    aside: u64,
}

impl WorkDone {
    /// Counts something that is done at once.
    pub(super) fn at_once<T>(&self, job: impl FnOnce() -> T) -> T {
        let (done, units) = work::counted(job);
        self.count(units);
        done
    }

    pub(super) fn count(&self, units: u64) {
        self.longest.fetch_max(units, Ordering::Relaxed);
    }

    pub(super) fn told(&self) -> WorkReport {
        WorkReport {
            longest: self.longest.load(Ordering::Relaxed),
            aside: self.aside.load(Ordering::Relaxed),
        }
    }
}
