//! Which files are asked about, and their bytes.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use gutta_protocol::{Content, House};
use gutta_server::disk::{EXTENSION, Exclusions, HOUSE_FILE, read};
use ignore::{WalkBuilder, WalkState};
use rayon::prelude::*;
use smol_str::SmolStr;

use super::Root;
use crate::failure::Failure;
use crate::terminal;

/// Finds and reads the files at `paths`, or all of the workspace. Hidden and
/// git-ignored ones are passed over unless they are named; those that
/// `gutta.toml` excludes always are.
pub(super) fn files(
    root: &Root,
    house: &House,
    paths: &[PathBuf],
) -> Result<Vec<(SmolStr, Content)>, Failure> {
    let excluded = exclusions(root, house)?;
    let is_excluded = |path: &Path, folder: bool| excluded.cover(path, folder);
    let whole = [root.folder().to_owned()];
    let starts = if paths.is_empty() { &whole } else { paths };
    let mut found = Vec::new();
    let mut left_out = 0_usize;
    for start in starts {
        let path = root.absolute(start);
        // Outside the workspace there is no name for it.
        root.relative(start)?;
        let meta = std::fs::metadata(&path)
            .map_err(|error| Failure::system(format!("cannot read {}", start.display()), &error))?;
        if is_excluded(&path, meta.is_dir()) {
            left_out += 1;
            let shown = start.display();
            terminal::tell(&format!("gutta: {shown} is excluded by gutta.toml"));
        } else if meta.is_dir() {
            found.extend(walk(root, &path, &is_excluded)?);
        } else {
            found.push((path, true));
        }
    }
    found.sort();
    found.dedup_by(|later, kept| later.0 == kept.0);
    if found.is_empty() && left_out == 0 {
        let place = match paths {
            [] => root.folder().display().to_string(),
            paths => {
                let names: Vec<_> = paths
                    .iter()
                    .map(|path| path.display().to_string())
                    .collect();
                names.join(", ")
            }
        };
        return Err(Failure::new(format!("there is no .gtt file in {place}")));
    }
    let read_one = |(path, named): (PathBuf, bool)| match read(&path) {
        Ok(content) => Some(root.relative(&path).map(|name| (name, content))),
        // A file that has gone since the folder was listed is not there.
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && !named => None,
        Err(error) => {
            let name = root.relative(&path).map(|name| root.shown(&name));
            let name = name.unwrap_or_else(|_| path.display().to_string());
            Some(Err(Failure::system(format!("cannot read {name}"), &error)))
        }
    };
    found.into_par_iter().filter_map(read_one).collect()
}

/// All of the workspace that can be read, for what the files asked about refer
/// to. What cannot be read is left out: the `use` that needs it is a finding.
pub(super) fn surroundings(root: &Root, house: &House) -> Vec<(SmolStr, Content)> {
    let Ok(excluded) = exclusions(root, house) else {
        return Vec::new();
    };
    let is_excluded = |path: &Path, folder: bool| excluded.cover(path, folder);
    let found = walk(root, root.folder(), &is_excluded).unwrap_or_default();
    let read_one = |(path, _): (PathBuf, bool)| {
        let name = root.relative(&path).ok()?;
        Some((name, read(&path).ok()?))
    };
    found.into_par_iter().filter_map(read_one).collect()
}

/// The `.gtt` files below a folder; none of them was named.
fn walk(
    root: &Root,
    folder: &Path,
    is_excluded: &(impl Fn(&Path, bool) -> bool + Sync),
) -> Result<Vec<(PathBuf, bool)>, Failure> {
    let found = Mutex::new(Vec::new());
    let failed = Mutex::new(None);
    let walker = WalkBuilder::new(folder).require_git(false).build_parallel();
    walker.run(|| {
        Box::new(|entry| {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    let gone = error
                        .io_error()
                        .is_some_and(|error| error.kind() == std::io::ErrorKind::NotFound);
                    if gone {
                        return WalkState::Continue;
                    }
                    put(&failed, Some(said(root, &error)));
                    return WalkState::Quit;
                }
            };
            let is_dir = entry.file_type().is_some_and(|kind| kind.is_dir());
            if is_excluded(entry.path(), is_dir) {
                return WalkState::Skip;
            }
            let is_order = entry.path().extension().is_some_and(|end| end == EXTENSION);
            // What a link brings in from elsewhere can change unseen.
            let is_link_out = entry.path_is_symlink()
                && root
                    .relative(entry.path())
                    .is_ok_and(|name| root.inside(&name).is_none());
            if !is_dir
                && !is_link_out
                && is_order
                && let Ok(mut found) = found.lock()
            {
                found.push((entry.into_path(), false));
            }
            WalkState::Continue
        })
    });
    match failed.into_inner() {
        Ok(None) => Ok(found.into_inner().unwrap_or_default()),
        Ok(Some(failure)) => Err(failure),
        Err(_) => Err(Failure::new("the folders could not be listed")),
    }
}

fn put<T>(place: &Mutex<T>, value: T) {
    if let Ok(mut held) = place.lock() {
        *held = value;
    }
}

fn said(root: &Root, error: &ignore::Error) -> Failure {
    let path = path_of(error).and_then(|path| root.relative(path).ok());
    match (path, error.io_error()) {
        (Some(path), Some(io)) => Failure::system(format!("cannot read {}", root.shown(&path)), io),
        _ => Failure::new(error.to_string()),
    }
}

fn path_of(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => {
            path_of(err)
        }
        _ => None,
    }
}

fn exclusions(root: &Root, house: &House) -> Result<Exclusions, Failure> {
    match Exclusions::of(root.folder(), house) {
        (exclusions, None) => Ok(exclusions),
        (_, Some(wrong)) => Err(Failure::new(format!("{HOUSE_FILE}: {wrong}"))),
    }
}
