//! Changes on the disk: told by the client where it can watch, else watched
//! for here.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use tower_lsp::lsp_types::{
    DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern, OneOf, Registration,
    RelativePattern, Url,
};

use super::worker::{Desk, Worker};
use crate::disk::{self, EXTENSION, HOUSE_FILE, IGNORE_FILES};
use crate::state::State;

/// Folders to watch, and whether with all that is below them.
type Folders = BTreeMap<PathBuf, bool>;

/// What is watched for here, and what the client was asked to.
#[derive(Debug, Default)]
pub(super) struct Watching {
    /// Where to tell of changes; none before the client is ready.
    worker: Option<Worker>,
    /// The state's shape when this was last looked at.
    shape: Option<u64>,
    here: BTreeMap<(PathBuf, bool), notify::RecommendedWatcher>,
    asked: BTreeSet<(PathBuf, bool)>,
}

impl Watching {
    pub(super) fn begin(&mut self, worker: Worker) {
        self.worker = Some(worker);
    }
}

/// Asks the client to watch its folders.
pub(super) fn registration() -> Registration {
    let pattern = |name: String| GlobPattern::String(format!("**/{name}"));
    register("gutta/watch".to_owned(), pattern)
}

/// Asks the client to watch a folder outside of its own.
fn registration_of(folder: &Path, deep: bool, number: usize) -> Option<Registration> {
    let base = Url::from_file_path(folder).ok()?;
    let pattern = |name: String| {
        GlobPattern::Relative(RelativePattern {
            base_uri: OneOf::Right(base.clone()),
            pattern: if deep { format!("**/{name}") } else { name },
        })
    };
    Some(register(format!("gutta/watch/{number}"), pattern))
}

fn register(id: String, pattern: impl Fn(String) -> GlobPattern) -> Registration {
    let deciding = [HOUSE_FILE].into_iter().chain(IGNORE_FILES);
    let names = deciding.map(str::to_owned);
    let names = [format!("*.{EXTENSION}")].into_iter().chain(names);
    let watcher = |name| FileSystemWatcher {
        glob_pattern: pattern(name),
        kind: None,
    };
    let options = DidChangeWatchedFilesRegistrationOptions {
        watchers: names.map(watcher).collect(),
    };
    Registration {
        id,
        method: "workspace/didChangeWatchedFiles".to_owned(),
        register_options: serde_json::to_value(options).ok(),
    }
}

/// Sees to it that all is watched from which something was read, and nothing
/// else.
pub(super) fn follow(desk: &mut Desk) {
    let watching = &mut desk.watching;
    let Some(worker) = &watching.worker else {
        return;
    };
    if watching.shape.replace(desk.state.shape) == Some(desk.state.shape) {
        return;
    }
    let mut wanted = wanted(&desk.state);
    let abilities = desk.publisher.abilities;
    if abilities.watches {
        // A pattern without a base reaches into the client's folders alone.
        let open = desk.state.folders();
        wanted.retain(|folder, _| !open.iter().any(|open| folder.starts_with(open)));
    }
    if abilities.watches_anywhere {
        let mut registrations = Vec::new();
        for (folder, deep) in wanted {
            if watching.asked.insert((folder.clone(), deep)) {
                registrations.extend(registration_of(&folder, deep, watching.asked.len()));
            }
        }
        if !registrations.is_empty() {
            desk.out.register(registrations);
        }
        return;
    }
    let still = |(folder, deep): &(PathBuf, bool)| wanted.get(folder) == Some(deep);
    watching.here.retain(|key, _| still(key));
    for key in wanted {
        if !watching.here.contains_key(&key)
            && let Some(watcher) = watch(&key.0, key.1, worker.clone())
        {
            watching.here.insert(key, watcher);
        }
    }
}

/// The folders of which something was read, or would have been: of what is
/// open by itself only those in which its files lie.
fn wanted(state: &State) -> Folders {
    let mut deep: BTreeSet<PathBuf> = state.folders().iter().cloned().collect();
    let mut flat = BTreeSet::new();
    for (_, root) in state.roots() {
        if root.whole {
            deep.extend(root.folder.clone());
        } else {
            let files = root.workspace.file_ids();
            let paths = files.filter_map(|file| root.path_of(file));
            flat.extend(paths.filter_map(|path| path.parent().map(Path::to_owned)));
        }
    }
    let in_other = |folder: &Path| folder.ancestors().skip(1).any(|outer| deep.contains(outer));
    let flat = flat.into_iter().map(|folder| (folder, false));
    let all = flat.chain(deep.iter().map(|folder| (folder.clone(), true)));
    all.filter(|(folder, _)| !in_other(folder)).collect()
}

/// Watches the folder for as long as what is returned lives; nothing where the
/// system cannot.
fn watch(folder: &Path, deep: bool, worker: Worker) -> Option<notify::RecommendedWatcher> {
    // What comes while the worker is busy is told in one piece.
    let due = Arc::new(Mutex::new(Vec::new()));
    let tell = move |path: PathBuf| {
        let Ok(mut waiting) = due.lock() else { return };
        if !disk::may_matter(&path) {
            return;
        }
        waiting.push(path);
        if waiting.len() == 1 {
            let due = Arc::clone(&due);
            worker.tell(move |desk| {
                let paths = due.lock().map(|mut due| std::mem::take(&mut *due));
                desk.state.changed_on_disk(&paths.unwrap_or_default());
            });
        }
    };
    if deep {
        disk::watch(folder, tell).ok()
    } else {
        disk::watch_files(folder, tell).ok()
    }
}
