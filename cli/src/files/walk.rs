//! Which files are asked about, and their bytes.

use std::convert::Infallible;
use std::path::{Path, PathBuf};

use gutta_protocol::{Content, House, Workspace};
use gutta_server::disk::{self, Exclusions, FileFilter, HOUSE_FILE, Listing, Skipped, found, read};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::Root;
use crate::failure::Failure;
use crate::terminal;

/// What stands where one looked.
#[derive(Debug, Default)]
pub(super) struct Walked {
    /// Path from the root, and content, in the order of the paths.
    pub(super) files: Vec<(SmolStr, Content)>,
    /// What was passed over.
    pub(super) passed: Vec<Skipped>,
    /// How many of the paths are excluded themselves.
    pub(super) left_out: usize,
}

/// Finds and reads the files at `starts`. Hidden and git-ignored ones are
/// passed over unless they are named; those that `gutta.toml` excludes always
/// are.
pub(super) fn files(root: &Root, house: &House, starts: &[PathBuf]) -> Result<Walked, Failure> {
    let excluded = exclusions(root, house)?;
    let filter = FileFilter::new(root.folder(), &excluded, &[]);
    let mut due: Vec<(PathBuf, bool)> = Vec::new();
    let mut walked = Walked::default();
    for start in starts {
        let path = root.absolute(start);
        // Outside the workspace, or without UTF-8, there is no name for it.
        let is_root = path == root.folder();
        if !is_root {
            root.relative(start)?;
        }
        let cannot = |error| Failure::system(format!("cannot read {}", start.display()), &error);
        let meta = std::fs::metadata(&path).map_err(cannot)?;
        if !is_root && excluded.cover(&path, meta.is_dir()) {
            walked.left_out += 1;
            let shown = start.display();
            terminal::tell(&format!("gutta: {shown} is excluded by gutta.toml"));
        } else if meta.is_dir() {
            let Listing { files, passed } = filter.list(&path);
            due.extend(files.into_iter().map(|path| (path, false)));
            walked.passed.extend(passed);
        } else {
            due.push((path, true));
        }
    }
    due.sort();
    // Of two alike the one that was named stays: it must be read.
    due.reverse();
    due.dedup_by(|later, kept| later.0 == kept.0);
    due.reverse();
    walked
        .passed
        .sort_by(|one, other| one.path.cmp(&other.path));
    walked.passed.dedup();
    let named = |path: &Path| {
        let at = due.binary_search_by(|(file, _)| file.as_path().cmp(path));
        at.is_ok()
    };
    walked.passed.retain(|passed| !named(&passed.path));
    let read_one = |(path, named): (PathBuf, bool)| {
        let name = match root.relative(&path) {
            Ok(name) => name,
            Err(failure) => return Some(Err(failure)),
        };
        // A file that has gone since the folder was listed is not there; one
        // that is there and cannot be read is a finding.
        if !named {
            return found(&path).map(|content| Ok((name, content)));
        }
        Some(match read(&path) {
            Ok(content) => Ok((name, content)),
            Err(error) => {
                let shown = root.shown(&name);
                Err(Failure::system(format!("cannot read {shown}"), &error))
            }
        })
    };
    walked.files = due
        .into_par_iter()
        .filter_map(read_one)
        .collect::<Result<_, _>>()?;
    Ok(walked)
}

/// All of the workspace that can be read, for what the files asked about refer
/// to. What cannot be read is left out: the `use` that needs it is a finding.
pub(super) fn surroundings(root: &Root, house: &House) -> Vec<(SmolStr, Content)> {
    let Ok(excluded) = exclusions(root, house) else {
        return Vec::new();
    };
    let filter = FileFilter::new(root.folder(), &excluded, &[]);
    filter.read(filter.list(root.folder()).files)
}

/// Adds the files that are used and were not asked about, with why no check of
/// the workspace reads them, where none does.
pub(super) fn add_used(workspace: &mut Workspace, root: &Root) {
    let (excluded, _) = Exclusions::of(root.folder(), &workspace.house);
    let filter = FileFilter::new(root.folder(), &excluded, &[]);
    let find = |paths: &[SmolStr]| -> Result<_, Infallible> {
        Ok(filter.used(paths, |_| None, |path| root.shown_path(path)))
    };
    let Ok(_) = disk::add_used(workspace, &mut FxHashSet::default(), find, |_, _| {});
}

fn exclusions(root: &Root, house: &House) -> Result<Exclusions, Failure> {
    match Exclusions::of(root.folder(), house) {
        (exclusions, None) => Ok(exclusions),
        (_, Some(wrong)) => Err(Failure::new(format!("{HOUSE_FILE}: {wrong}"))),
    }
}
