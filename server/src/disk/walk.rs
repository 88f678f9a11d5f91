//! Which files a repository holds.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use gutta_protocol::House;
use ignore::gitignore::{Gitignore, GitignoreBuilder};
use ignore::{DirEntry, WalkBuilder, WalkState};
use rustc_hash::FxHashSet;

use super::{EXTENSION, HOUSE_FILE, inside, relative};

/// What a house leaves out.
#[derive(Clone, Debug)]
pub struct Exclusions {
    folder: PathBuf,
    patterns: Gitignore,
}

impl Exclusions {
    /// Patterns that cannot be read exclude nothing; the first of them is told.
    #[must_use]
    pub fn of(folder: &Path, house: &House) -> (Self, Option<String>) {
        let mut builder = GitignoreBuilder::new(folder);
        let mut wrong = None;
        let mut tell = |error: ignore::Error| {
            wrong.get_or_insert_with(|| format!("exclude: {error}"));
        };
        for pattern in &house.exclude {
            if let Err(error) = builder.add_line(None, pattern) {
                tell(error);
            }
        }
        let patterns = builder.build().unwrap_or_else(|error| {
            tell(error);
            Gitignore::empty()
        });
        let exclusions = Self {
            folder: folder.to_owned(),
            patterns,
        };
        (exclusions, wrong)
    }

    /// Whether the path, or a folder around it, is left out.
    #[must_use]
    pub fn cover(&self, path: &Path, is_folder: bool) -> bool {
        path.starts_with(&self.folder)
            && self
                .patterns
                .matched_path_or_any_parents(path, is_folder)
                .is_ignore()
    }
}

/// The order files below a folder that are neither hidden, git-ignored nor
/// excluded; what lies in the folders of `without` is another's.
pub(crate) fn orders(folder: &Path, excluded: &Exclusions, without: &[PathBuf]) -> Vec<PathBuf> {
    listed(folder, excluded, without, &|_, _| false)
}

/// Those of the paths that are among these, without a look at the rest.
pub(crate) fn orders_among(
    folder: &Path,
    excluded: &Exclusions,
    without: &[PathBuf],
    paths: &FxHashSet<&Path>,
) -> FxHashSet<PathBuf> {
    let around: FxHashSet<&Path> = paths.iter().flat_map(|path| path.ancestors()).collect();
    let passed = |entry: &DirEntry, _: bool| !around.contains(entry.path());
    let found = listed(folder, excluded, without, &passed);
    found.into_iter().collect()
}

fn listed(
    folder: &Path,
    excluded: &Exclusions,
    without: &[PathBuf],
    passed: &(impl Fn(&DirEntry, bool) -> bool + Sync),
) -> Vec<PathBuf> {
    let wanted = |entry: &DirEntry, is_folder: bool| {
        if is_folder {
            return None;
        }
        let path = entry.path();
        let is_order = path.extension().is_some_and(|end| end == EXTENSION);
        // What a link brings in from elsewhere can change unseen.
        let is_link_out = entry.path_is_symlink()
            && relative(folder, path).is_some_and(|name| inside(folder, &name).is_none());
        (is_order && !is_link_out).then(|| path.to_owned())
    };
    let passed = |entry: &DirEntry, is_folder: bool| {
        let other = is_folder && without.iter().any(|root| root == entry.path());
        other || passed(entry, is_folder) || excluded.cover(entry.path(), is_folder)
    };
    walk(folder, &passed, &wanted)
}

/// The same without a word of the house: whoever asks knows what it leaves out.
pub(crate) fn orders_below(folder: &Path) -> Vec<PathBuf> {
    let wanted = |entry: &DirEntry, is_folder: bool| {
        let is_order = entry.path().extension().is_some_and(|end| end == EXTENSION);
        (!is_folder && is_order).then(|| entry.path().to_owned())
    };
    walk(folder, &|_, _| false, &wanted)
}

/// The folders below this one that a `gutta.toml` marks, outermost alone.
pub(crate) fn repositories(folder: &Path) -> Vec<PathBuf> {
    let wanted = |entry: &DirEntry, is_folder: bool| {
        let marks = !is_folder && entry.file_name() == HOUSE_FILE;
        marks.then(|| entry.path().parent().unwrap_or(folder).to_owned())
    };
    let found = walk(folder, &|_, _| false, &wanted);
    let mut outermost: Vec<PathBuf> = Vec::new();
    for root in found {
        if !outermost.iter().any(|outer| root.starts_with(outer)) {
            outermost.push(root);
        }
    }
    outermost
}

fn walk(
    folder: &Path,
    passed: &(impl Fn(&DirEntry, bool) -> bool + Sync),
    wanted: &(impl Fn(&DirEntry, bool) -> Option<PathBuf> + Sync),
) -> Vec<PathBuf> {
    let found = Mutex::new(Vec::new());
    let walker = WalkBuilder::new(folder).require_git(false).build_parallel();
    walker.run(|| {
        Box::new(|entry| {
            // What cannot be listed is not there; a `use` of it is a finding.
            let Ok(entry) = entry else {
                return WalkState::Continue;
            };
            let is_folder = entry.file_type().is_some_and(|kind| kind.is_dir());
            if passed(&entry, is_folder) {
                return WalkState::Skip;
            }
            if let (Some(path), Ok(mut found)) = (wanted(&entry, is_folder), found.lock()) {
                found.push(path);
            }
            WalkState::Continue
        })
    });
    let mut found = found.into_inner().unwrap_or_default();
    found.sort();
    found
}
