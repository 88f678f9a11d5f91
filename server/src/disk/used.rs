//! The texts of what a workspace holds, and of what its `use` lines name
//! besides.

use std::path::{Path, PathBuf};

use gutta_protocol::{Content, FileId, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::open::found;
use super::walk::FileFilter;
use super::{inside, relative};

/// What is there of a file that a `use` names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Used {
    /// What it holds.
    pub content: Content,
    /// Why no check of the workspace judges it, in words, where none does.
    pub unjudged: Option<String>,
}

/// Adds the files that are used and not held, those that these use, and so on;
/// says whether there were any. Each is looked for with `find`, once: what is
/// in `tried` is not looked for again, and one that is not there is left out, so
/// that the `use` which names it is a finding. `added` hears of each that came.
///
/// # Errors
/// Where `find` fails.
pub fn add_used<E>(
    workspace: &mut Workspace,
    tried: &mut FxHashSet<SmolStr>,
    mut find: impl FnMut(&[SmolStr]) -> Result<Vec<Option<Used>>, E>,
    mut added: impl FnMut(&Workspace, FileId),
) -> Result<bool, E> {
    let mut any = false;
    loop {
        let missing = workspace.missing().into_iter();
        let missing: Vec<_> = missing.filter(|path| tried.insert(path.clone())).collect();
        if missing.is_empty() {
            return Ok(any);
        }
        let found = find(&missing)?;
        for (path, used) in missing.iter().zip(found) {
            let Some(used) = used else { continue };
            let id = workspace.lean_on(path, used.content, used.unjudged.as_deref());
            added(workspace, id);
            any = true;
        }
    }
}

impl FileFilter<'_> {
    /// The texts of what was listed, by their paths from where the workspace
    /// begins. What has gone since is not there.
    #[must_use]
    pub fn read(&self, files: Vec<PathBuf>) -> Vec<(SmolStr, Content)> {
        let read = |path: PathBuf| Some((relative(self.folder, &path)?, found(&path)?));
        files.into_par_iter().filter_map(read).collect()
    }

    /// What is there of the files that `use` lines name, by their paths from
    /// where the workspace begins: what `open` has, else what is on the disk.
    /// `shown` writes a path.
    #[must_use]
    pub fn used(
        &self,
        paths: &[SmolStr],
        open: impl Fn(&Path) -> Option<Content>,
        shown: impl Fn(&Path) -> String,
    ) -> Vec<Option<Used>> {
        let full: Vec<_> = paths.iter().map(|path| self.folder.join(path)).collect();
        let full: Vec<&Path> = full.iter().map(PathBuf::as_path).collect();
        let why = self.why(&full).into_iter();
        let each = paths.iter().zip(why);
        let used = each.map(|(path, why)| {
            let path = inside(self.folder, path)?;
            Some(Used {
                content: open(&path).or_else(|| found(&path))?,
                unjudged: why.map(|why| why.told(&shown)),
            })
        });
        used.collect()
    }
}
