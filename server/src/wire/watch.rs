//! Changes on the disk: told by the client where it can watch, else watched
//! for here.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use tower_lsp::lsp_types::{
    DidChangeWatchedFilesRegistrationOptions, FileSystemWatcher, GlobPattern, OneOf, Registration,
    RelativePattern, Unregistration, Url,
};

use super::context::ServerContext;
use super::watching::Reach;
use super::worker::Worker;
use crate::disk::{self, EXTENSION, HOUSE_FILE, IGNORE_FILES};
use crate::state::State;

/// Folders to watch.
type Folders = BTreeMap<PathBuf, Reach>;

/// What the client is asked to watch for.
const METHOD: &str = "workspace/didChangeWatchedFiles";

/// Asks the client to watch its folders.
pub(super) fn registration() -> Registration {
    let pattern = |name: String| GlobPattern::String(format!("**/{name}"));
    register("gutta/watch".to_owned(), Reach::Deep, pattern)
}

/// Asks the client to watch a folder outside of its own.
fn registration_of(folder: &Path, reach: Reach, id: String) -> Option<Registration> {
    let base = Url::from_file_path(folder).ok()?;
    let pattern = |name: String| {
        GlobPattern::Relative(RelativePattern {
            base_uri: OneOf::Right(base.clone()),
            pattern: if reach == Reach::Deep {
                format!("**/{name}")
            } else {
                name
            },
        })
    };
    Some(register(id, reach, pattern))
}

fn register(id: String, reach: Reach, pattern: impl Fn(String) -> GlobPattern) -> Registration {
    let deciding = [HOUSE_FILE].into_iter().chain(IGNORE_FILES);
    let orders = (reach != Reach::Marks).then(|| format!("*.{EXTENSION}"));
    let names = orders.into_iter().chain(deciding.map(str::to_owned));
    let watcher = |name| FileSystemWatcher {
        glob_pattern: pattern(name),
        kind: None,
    };
    let options = DidChangeWatchedFilesRegistrationOptions {
        watchers: names.map(watcher).collect(),
    };
    Registration {
        id,
        method: METHOD.to_owned(),
        register_options: serde_json::to_value(options).ok(),
    }
}

/// Sees to it that all is watched from which something was read, and nothing
/// else.
pub(super) fn follow(server: &mut ServerContext, worker: &Worker) {
    let watching = &mut server.watching;
    if !watching.begun {
        return;
    }
    if watching.shape.replace(server.state.shape) == Some(server.state.shape) {
        return;
    }
    let mut wanted = wanted(&server.state);
    let abilities = server.publisher.abilities;
    if abilities.watches {
        // A pattern without a base reaches into the client's folders alone.
        let open = server.state.folders();
        wanted.retain(|folder, _| !open.iter().any(|open| folder.starts_with(open)));
    }
    if abilities.watches_anywhere {
        let asked = &mut watching.asked;
        let gone = asked.extract_if(.., |(folder, reach), _| wanted.get(folder) != Some(reach));
        let gone: Vec<_> = gone
            .map(|(_, id)| Unregistration {
                id,
                method: METHOD.to_owned(),
            })
            .collect();
        if !gone.is_empty() {
            server.out.unregister(gone);
        }
        let mut registrations = Vec::new();
        for (folder, reach) in wanted {
            let Entry::Vacant(place) = asked.entry((folder, reach)) else {
                continue;
            };
            watching.next += 1;
            let id = format!("gutta/watch/{}", watching.next);
            registrations.extend(registration_of(&place.key().0, reach, id.clone()));
            place.insert(id);
        }
        if !registrations.is_empty() {
            let worker = worker.clone();
            server
                .out
                .register(registrations, move || watch_here(&worker));
        }
        return;
    }
    let still = |(folder, reach): &(PathBuf, Reach)| wanted.get(folder) == Some(reach);
    watching.here.retain(|key, _| still(key));
    for key in wanted {
        if !watching.here.contains_key(&key)
            && let Some(watcher) = watch(&key.0, key.1, worker.clone())
        {
            watching.here.insert(key, watcher);
        }
    }
}

/// The client does not watch, whatever it said of itself: what changes is looked
/// for here from now on, as if it could not.
pub(super) fn watch_here(worker: &Worker) {
    let own = worker.clone();
    worker.tell(move |server| {
        let abilities = &mut server.publisher.abilities;
        (abilities.watches, abilities.watches_anywhere) = (false, false);
        server.watching.asked.clear();
        server.watching.shape = None;
        follow(server, &own);
        server.out.log_warning(
            "gutta: the editor does not watch for changed files; gutta looks by itself".to_owned(),
        );
    });
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
    // A `gutta.toml` that comes above what no other marks takes it in.
    let own = state.roots().filter_map(|(_, root)| root.folder.as_deref());
    let outer = own.filter(|own| !is_marked(own)).flat_map(|own| {
        let outer = own.ancestors().skip(1);
        outer.take_while(|outer| !is_marked(outer))
    });
    let marks = outer.map(|folder| (folder.to_owned(), Reach::Marks));
    // The later of one folder counts.
    let flat = flat.into_iter().map(|folder| (folder, Reach::Files));
    let whole = deep.iter().map(|folder| (folder.clone(), Reach::Deep));
    let all = marks.chain(flat).chain(whole);
    all.filter(|(folder, _)| !in_other(folder)).collect()
}

fn is_marked(folder: &Path) -> bool {
    folder.join(HOUSE_FILE).is_file()
}

/// Watches the folder for as long as what is returned lives; nothing where the
/// system cannot.
fn watch(folder: &Path, reach: Reach, worker: Worker) -> Option<notify::RecommendedWatcher> {
    // What comes while the worker is busy is told in one piece.
    let due = Arc::new(Mutex::new(Vec::new()));
    let tell = move |path: PathBuf| {
        let Ok(mut waiting) = due.lock() else { return };
        let matters = match reach {
            Reach::Marks => disk::decides(&path),
            Reach::Files | Reach::Deep => disk::may_matter(&path),
        };
        if !matters {
            return;
        }
        waiting.push(path);
        if waiting.len() == 1 {
            let due = Arc::clone(&due);
            worker.tell(move |server| {
                let paths = due.lock().map(|mut due| std::mem::take(&mut *due));
                server.state.changed_on_disk(&paths.unwrap_or_default());
            });
        }
    };
    if reach == Reach::Deep {
        disk::watch(folder, tell).ok()
    } else {
        disk::watch_files(folder, tell).ok()
    }
}
