//! Changes on the disk: told by the client where it can watch, else watched
//! for here.

use std::path::Path;

use notify::{EventKind, RecursiveMode, Watcher};
use tower_lsp::lsp_types::{
    DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern, Registration,
};

use super::worker::Worker;
use crate::disk::{EXTENSION, HOUSE_FILE};

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
    let tell = move |event: notify::Result<notify::Event>| {
        let Ok(event) = event else { return };
        if matches!(event.kind, EventKind::Access(_)) {
            return;
        }
        let ours = |path: &Path| {
            let named = path.file_name().is_some_and(|name| name == HOUSE_FILE);
            // A folder that moved has no ending, nor has its name a file any
            // more.
            named || path.extension().is_none_or(|end| end == EXTENSION)
        };
        for path in event.paths.into_iter().filter(|path| ours(path)) {
            worker.tell(move |desk| desk.state.changed_on_disk(&path));
        }
    };
    let mut watcher = notify::recommended_watcher(tell).ok()?;
    watcher.watch(folder, RecursiveMode::Recursive).ok()?;
    Some(watcher)
}
