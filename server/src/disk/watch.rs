//! Changes on the disk, as the system tells them.

use std::path::{Path, PathBuf};

use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};

use super::nearly::nearly;
use super::{EXTENSION, HOUSE_FILE, IGNORE_FILES};

/// Tells of every path below the folder that was written, came, went or was
/// renamed, for as long as what is returned lives.
///
/// # Errors
/// Where the system cannot watch the folder.
pub fn watch(
    folder: &Path,
    tell: impl Fn(PathBuf) + Send + 'static,
) -> notify::Result<RecommendedWatcher> {
    watch_as(folder, RecursiveMode::Recursive, tell)
}

/// The same for what lies in the folder itself.
pub(crate) fn watch_files(
    folder: &Path,
    tell: impl Fn(PathBuf) + Send + 'static,
) -> notify::Result<RecommendedWatcher> {
    watch_as(folder, RecursiveMode::NonRecursive, tell)
}

fn watch_as(
    folder: &Path,
    mode: RecursiveMode,
    tell: impl Fn(PathBuf) + Send + 'static,
) -> notify::Result<RecommendedWatcher> {
    let hear = move |event: notify::Result<notify::Event>| {
        let Ok(event) = event else { return };
        if matches!(event.kind, EventKind::Access(_)) {
            return;
        }
        event.paths.into_iter().for_each(&tell);
    };
    let mut watcher = notify::recommended_watcher(hear)?;
    watcher.watch(folder, mode)?;
    Ok(watcher)
}

/// Whether a change of the path may change a finding: an order file, a house's
/// settings, what is nearly named so, or what has no ending. A folder that moved has none, nor has its
/// name a file any more.
#[must_use]
pub fn may_matter(path: &Path) -> bool {
    let name = path.file_name();
    let named = name.is_some_and(|name| name == HOUSE_FILE || nearly(name).is_some());
    named || path.extension().is_none_or(|end| end == EXTENSION)
}

/// Whether the file decides what belongs to a repository: its settings, or what
/// is ignored there.
pub(crate) fn decides(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str());
    name.is_some_and(|name| name == HOUSE_FILE || IGNORE_FILES.contains(&name))
}
