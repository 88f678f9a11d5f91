//! Changes on the disk: told by the client where it can watch, else watched
//! for here.

use std::path::{Path, PathBuf};

use tower_lsp::lsp_types::{
    DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern, Registration,
};

use super::worker::Worker;
use crate::disk::{self, EXTENSION, HOUSE_FILE};

/// Asks the client to watch.
pub(super) fn registration() -> Registration {
    let pattern = |glob: String| FileSystemWatcher {
        glob_pattern: GlobPattern::String(glob),
        kind: None,
    };
    let options = DidChangeWatchedFilesRegistrationOptions {
        watchers: vec![
            pattern(format!("**/*.{EXTENSION}")),
            pattern(format!("**/{HOUSE_FILE}")),
        ],
    };
    Registration {
        id: "gutta/watch".to_owned(),
        method: "workspace/didChangeWatchedFiles".to_owned(),
        register_options: serde_json::to_value(options).ok(),
    }
}

/// Watches the folder for as long as what is returned lives; nothing where the
/// system cannot.
pub(super) fn watch(folder: &Path, worker: Worker) -> Option<notify::RecommendedWatcher> {
    let tell = move |path: PathBuf| {
        if disk::may_matter(&path) {
            worker.tell(move |desk| desk.state.changed_on_disk(&[path]));
        }
    };
    disk::watch(folder, tell).ok()
}
