//! What the thread that answers holds.

use std::path::PathBuf;

use super::outgoing::Outgoing;
use super::publish::Publisher;
use super::watching::Watching;
use super::work_done::WorkDone;
use crate::state::State;

/// The state, and what leads out of it to the client.
#[derive(Debug)]
pub(super) struct ServerContext {
    pub(super) state: State,
    pub(super) publisher: Publisher,
    pub(super) out: Outgoing,
    /// The folders to open once the client is ready.
    pub(super) folders: Vec<PathBuf>,
    pub(super) watching: Watching,
    pub(super) done: WorkDone,
}

impl ServerContext {
    /// What goes out by this.
    pub(super) fn new(out: Outgoing) -> Self {
        Self {
            state: State::default(),
            publisher: Publisher::default(),
            out,
            folders: Vec::new(),
            watching: Watching::default(),
            done: WorkDone::default(),
        }
    }

    pub(super) fn tell_fault(&self) {
        let said =
            "gutta: a fault in gutta itself; one answer is missing, or everything is read again";
        self.out.log_error(said.to_owned());
    }
}
