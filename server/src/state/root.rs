//! One repository: its files, and what is found in them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use gutta_checks::{Checked, Options, house_faults};
use gutta_notation::Span;
use gutta_protocol::house::HouseFault;
use gutta_protocol::{Content, FileId, UseFault, Workspace};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::disk::{self, Exclusions};

/// A repository.
#[derive(Debug)]
pub(crate) struct Root {
    /// Where it begins; none: what is open and stands nowhere.
    pub(crate) folder: Option<PathBuf>,
    /// Whether all of the folder belongs to it, and not just what is open.
    pub(crate) whole: bool,
    excluded: Option<Exclusions>,
    pub(crate) workspace: Workspace,
    pub(crate) checked: Checked,
    /// What is wrong with its `gutta.toml`.
    pub(crate) house: Vec<HouseFault>,
    /// Files in which lines moved, so that places told of may be others now.
    pub(crate) moved: BTreeSet<FileId>,
    /// Files that a `use` named and that were not there.
    tried: FxHashSet<SmolStr>,
}

impl Root {
    /// Reads the folder's files; what is open is put in afterwards.
    pub(crate) fn load(
        folder: Option<PathBuf>,
        whole: bool,
        without: &[PathBuf],
        options: Options,
    ) -> Self {
        let marked = folder
            .as_deref()
            .filter(|folder| folder.join(disk::HOUSE_FILE).is_file());
        let (house, mut faults) = marked.map(disk::house).unwrap_or_default();
        let mut files: Vec<(SmolStr, Content)> = Vec::new();
        let mut excluded = None;
        if let Some(folder) = &folder {
            let (exclusions, wrong) = Exclusions::of(folder, &house);
            if let Some(message) = wrong {
                let (line, column) = house.position("exclude");
                faults.push(HouseFault {
                    message,
                    line,
                    column,
                });
            }
            if whole {
                let found = disk::orders(folder, &exclusions, without);
                files = found
                    .into_par_iter()
                    .filter_map(|path| {
                        Some((disk::relative(folder, &path)?, disk::read(&path).ok()?))
                    })
                    .collect();
            }
            excluded = Some(exclusions);
        }
        let workspace = Workspace::new(files, house);
        let checked = Checked::new(&workspace, options);
        let mut root = Self {
            folder,
            whole,
            excluded,
            workspace,
            checked,
            house: faults,
            moved: BTreeSet::new(),
            tried: FxHashSet::default(),
        };
        root.bring_in_used();
        // Names are judged only where the settings hold at all.
        if root.house.is_empty() {
            root.house.extend(house_faults(&root.workspace));
        }
        root
    }

    /// Whether the house leaves the file out.
    pub(crate) fn excludes(&self, path: &Path) -> bool {
        let excluded = self.excluded.as_ref();
        excluded.is_some_and(|excluded| excluded.cover(path, false))
    }

    /// Where the file stands on the disk.
    pub(crate) fn path_of(&self, file: FileId) -> Option<PathBuf> {
        let folder = self.folder.as_deref()?;
        Some(folder.join(&*self.workspace.file(file).path))
    }

    /// Puts a text in the file's place, or adds the file.
    pub(crate) fn put(&mut self, path: &str, content: impl Into<Content>) {
        match self.workspace.file_at(path) {
            Some(id) => {
                let change = self.workspace.rewrite_file(id, content);
                self.checked.follow(&self.workspace, &change);
                self.moved.insert(id);
            }
            None => {
                let id = self.workspace.replace_file(path, content);
                self.checked.insert_file(&self.workspace, id);
            }
        }
        self.bring_in_used();
    }

    /// Replaces a stretch of the file; `whole` is the text after it.
    pub(crate) fn edit(
        &mut self,
        path: &str,
        span: Span,
        with: &str,
        whole: impl FnOnce() -> String,
    ) {
        let Some(id) = self.workspace.file_at(path) else {
            return self.put(path, whole());
        };
        let change = if self.workspace.file(id).faults.is_empty() {
            self.workspace.edit_file(id, span, with)
        } else {
            self.workspace.rewrite_file(id, whole())
        };
        self.checked.follow(&self.workspace, &change);
        if change.lines_moved {
            self.moved.insert(id);
        }
        if !change.files.is_empty() {
            self.bring_in_used();
        }
    }

    /// Takes the file out.
    pub(crate) fn take_out(&mut self, path: &str) {
        let Some(id) = self.workspace.file_at(path) else {
            return;
        };
        self.checked.removing_file(&self.workspace, id);
        self.workspace.remove_file(path);
        self.checked.removed_file(&self.workspace, id);
        self.tried.clear();
    }

    /// Forgets which files were not there: they may have come.
    pub(crate) fn look_again(&mut self) {
        self.tried.clear();
        self.bring_in_used();
    }

    /// Adds files that are used and lie outside what was listed.
    fn bring_in_used(&mut self) {
        let Some(folder) = self.folder.clone() else {
            return;
        };
        loop {
            let missing: FxHashSet<SmolStr> = self
                .workspace
                .file_ids()
                .flat_map(|file| self.workspace.uses(file))
                .filter_map(|used| match &used.target {
                    Err(UseFault::Missing { path }) => Some(path.clone()),
                    _ => None,
                })
                .filter(|path| !self.tried.contains(path))
                .collect();
            let mut found = false;
            for path in missing {
                let content = disk::inside(&folder, &path).and_then(|path| disk::read(&path).ok());
                if let Some(content) = content {
                    let id = self.workspace.replace_file(&path, content);
                    self.checked.insert_file(&self.workspace, id);
                    found = true;
                }
                self.tried.insert(path);
            }
            if !found {
                return;
            }
        }
    }
}
