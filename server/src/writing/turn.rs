//! Ending a run between two writes, not within one.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

struct State {
    /// How many batches are under way.
    writing: usize,
    ended: bool,
}

static STATE: Mutex<State> = Mutex::new(State {
    writing: 0,
    ended: false,
});
static DONE: Condvar = Condvar::new();

fn state() -> MutexGuard<'static, State> {
    STATE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A batch is under way.
#[derive(Debug)]
pub(super) struct Turn(());

impl Turn {
    /// `None` once the run is being ended.
    pub(super) fn begin() -> Option<Self> {
        let mut state = state();
        if state.ended {
            return None;
        }
        state.writing += 1;
        Some(Self(()))
    }

    /// Whether no further file is to be begun.
    pub(super) fn is_over(&self) -> bool {
        state().ended
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        state().writing -= 1;
        DONE.notify_all();
    }
}

/// From now on no file is begun. Waits, no longer than `patience`, until what was
/// begun is done or cleared away: after that the process may go.
pub fn end(patience: Duration) {
    let until = Instant::now() + patience;
    let mut state = state();
    state.ended = true;
    while state.writing > 0 {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return;
        }
        state = DONE
            .wait_timeout(state, left)
            .unwrap_or_else(PoisonError::into_inner)
            .0;
    }
}
