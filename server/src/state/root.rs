//! One repository: its files, and what is found in them.

use std::collections::BTreeSet;
use std::convert::Infallible;
use std::path::{Path, PathBuf};

use gutta_checks::{Checked, Options, house_faults};
use gutta_notation::Span;
use gutta_protocol::house::HouseFault;
use gutta_protocol::{Content, FileId, Workspace};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::Refused;
use crate::disk::{self, Exclusions, FileFilter, Listing, SkipReason, Skipped};

/// A repository.
#[derive(Debug)]
pub(crate) struct Root {
    /// Where it begins; none: what is open and stands nowhere.
    pub(crate) folder: Option<PathBuf>,
    /// Whether all of the folder belongs to it, and not just what is open.
    pub(crate) whole: bool,
    pub(super) excluded: Option<Exclusions>,
    /// The folders in it that an editor opened as repositories of their own.
    pub(super) without: Vec<PathBuf>,
    /// The repositories in it that a `gutta.toml` marks, outermost alone.
    pub(super) inner: Vec<PathBuf>,
    /// What is passed over though an order could be in it.
    pub(crate) passed: Vec<Skipped>,
    pub(crate) workspace: Workspace,
    pub(crate) checked: Checked,
    /// What takes too long to tell of it as it stands.
    pub(crate) refused: Refused,
    /// What is wrong with its `gutta.toml`.
    pub(crate) house: Vec<HouseFault>,
    /// The part of it that hangs on `gutta.toml` alone.
    unread: Vec<HouseFault>,
    /// Files in which lines moved, so that places told of may be others now.
    pub(crate) moved: BTreeSet<FileId>,
    /// Files that are held only because a `use` names them: they are excluded,
    /// ignored or another repository's, and nothing is told of them.
    borrowed: FxHashSet<SmolStr>,
    /// Files that a `use` named and that were not there.
    tried: FxHashSet<SmolStr>,
    /// Whether other files may be used than are held.
    unsought: bool,
}

impl Root {
    /// Reads the folder's files; what is open is put in afterwards.
    pub(crate) fn load(
        folder: Option<PathBuf>,
        whole: bool,
        without: Vec<PathBuf>,
        options: Options,
    ) -> Self {
        let marked = folder.as_deref().filter(|folder| disk::marks(folder));
        let (house, mut faults) = marked.map(disk::house).unwrap_or_default();
        let mut files: Vec<(SmolStr, Content)> = Vec::new();
        let mut excluded = None;
        let (mut inner, mut passed) = (Vec::new(), Vec::new());
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
                let filter = FileFilter::new(folder, &exclusions, &without);
                let mut found = filter.list(folder);
                inner = found.inner().map(Path::to_owned).collect();
                found.passed.retain(|passed| passed.why.is_fault());
                passed = found.passed;
                files = filter.read(found.files);
            }
            excluded = Some(exclusions);
        }
        let workspace = Workspace::new(files, house);
        let checked = Checked::new(&workspace, options);
        let mut root = Self {
            folder,
            whole,
            excluded,
            without,
            inner,
            passed,
            workspace,
            checked,
            refused: Refused::default(),
            house: Vec::new(),
            unread: faults,
            moved: BTreeSet::new(),
            borrowed: FxHashSet::default(),
            tried: FxHashSet::default(),
            unsought: true,
        };
        root.follow_uses(&|_| None);
        root.judge_house();
        root
    }

    /// Judges the house's settings anew, and says whether that is news.
    pub(super) fn judge_house(&mut self) -> bool {
        // Names are judged only where the settings hold at all.
        let found = if self.unread.is_empty() {
            house_faults(&self.workspace)
        } else {
            self.unread.clone()
        };
        let news = found != self.house;
        self.house = found;
        news
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

    /// Whether the file is held only because another uses it.
    pub(crate) fn is_borrowed(&self, path: &str) -> bool {
        self.borrowed.contains(path)
    }

    /// The files held below a folder.
    pub(super) fn below(&self, folder: &str) -> impl Iterator<Item = FileId> + use<> {
        let prefix = format!("{folder}/");
        let files = &self.workspace.files;
        let first = files.partition_point(|file| file.path.as_str() < prefix.as_str());
        let behind = files.iter().skip(first);
        let count = behind
            .take_while(|file| file.path.starts_with(&prefix))
            .count();
        self.workspace.file_ids().skip(first).take(count)
    }

    /// Those of the paths that belong to it without being named: neither
    /// hidden, ignored nor excluded. What is passed over otherwise is noted.
    pub(super) fn listed(&mut self, paths: &FxHashSet<&Path>) -> FxHashSet<PathBuf> {
        let mut listed = FxHashSet::default();
        let (Some(folder), Some(excluded)) = (&self.folder, &self.excluded) else {
            return listed;
        };
        if !self.whole || paths.is_empty() {
            return listed;
        }
        let paths: Vec<&Path> = paths.iter().copied().collect();
        self.passed
            .retain(|passed| !paths.contains(&passed.path.as_path()));
        let found = FileFilter::new(folder, excluded, &self.without).why(&paths);
        for (path, why) in paths.into_iter().zip(found) {
            let path = path.to_owned();
            match why {
                None => {
                    listed.insert(path);
                }
                Some(why) if why.is_fault() => self.passed.push(Skipped {
                    path,
                    is_folder: false,
                    why,
                }),
                Some(_) => {}
            }
        }
        listed
    }

    /// What is in one of its folders; none where only what is open belongs to it.
    pub(super) fn listing(&self, folder: &Path) -> Option<Listing> {
        let excluded = self.excluded.as_ref().filter(|_| self.whole)?;
        let own = self.folder.as_deref()?;
        Some(FileFilter::new(own, excluded, &self.without).list(folder))
    }

    /// Why a file in it is passed over; none where it is read, or where only
    /// what is open belongs to it.
    pub(super) fn passes_over(&self, path: &Path) -> Option<SkipReason> {
        if !self.whole {
            return None;
        }
        // One that is not on the disk yet has no more to go by.
        if self.excludes(path) {
            return Some(SkipReason::Excluded);
        }
        self.why(path)
    }

    fn why(&self, path: &Path) -> Option<SkipReason> {
        let folder = self.folder.as_deref()?;
        let excluded = self.excluded.as_ref()?;
        let filter = FileFilter::new(folder, excluded, &self.without);
        filter.why(&[path]).pop().flatten()
    }

    /// Leaves what lies in the folder to another repository.
    pub(super) fn hand_over(&mut self, folder: &Path) {
        if !self.without.iter().any(|other| other == folder) {
            self.without.push(folder.to_owned());
        }
        let own = self.folder.as_deref();
        let Some(name) = own.and_then(|own| disk::relative(own, folder)) else {
            return;
        };
        let files = self.below(&name);
        let files = files.map(|id| self.workspace.file(id).path.clone());
        let files: Vec<_> = files.collect();
        files.iter().for_each(|path| self.take_out(path));
    }

    /// Holds the content, or none: as its own where it is judged, else only if
    /// a `use` asks for it.
    pub(super) fn set_content(&mut self, path: &str, content: Option<Content>, judged: bool) {
        self.tried.clear();
        self.unsought = true;
        match content {
            Some(content) if judged || self.borrowed.contains(path) => {
                // Who leans on it is to know that it is judged now.
                if judged && self.borrowed.contains(path) {
                    self.take_out(path);
                }
                if !self.holds(path, &content) {
                    self.put(path, content);
                }
            }
            _ => self.take_out(path),
        }
    }

    /// Whether just this is what it holds.
    fn holds(&self, path: &str, content: &Content) -> bool {
        let Some(id) = self.workspace.file_at(path) else {
            return false;
        };
        let held = self.workspace.file(id);
        held.faults.is_empty()
            && matches!(content, Content::Bytes(bytes) if *bytes == held.text.as_bytes())
    }

    /// Puts a text in the file's place, or adds the file.
    pub(crate) fn put(&mut self, path: &str, content: impl Into<Content>) {
        self.refused.forget();
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
        self.unsought = true;
    }

    /// Replaces a stretch of the file; `whole` is the text after it.
    pub(crate) fn edit(
        &mut self,
        path: &str,
        span: Span,
        with: &str,
        whole: impl FnOnce() -> String,
    ) {
        self.refused.forget();
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
        self.unsought |= !change.files.is_empty();
    }

    /// Takes the file out.
    pub(crate) fn take_out(&mut self, path: &str) {
        let Some(id) = self.workspace.file_at(path) else {
            return;
        };
        self.refused.forget();
        self.checked.removing_file(&self.workspace, id);
        self.workspace.remove_file(path);
        self.checked.removed_file(&self.workspace, id);
        self.borrowed.remove(path);
        self.tried.clear();
        self.unsought = true;
    }

    /// Adds files that are used and lie outside what was listed, and takes out
    /// those that nothing uses any more; says whether there were any. `open`
    /// gives the text of an open document.
    pub(super) fn follow_uses(&mut self, open: &dyn Fn(&Path) -> Option<String>) -> bool {
        if !std::mem::take(&mut self.unsought) {
            return false;
        }
        let gone = self.take_out_unused();
        let came = self.bring_in_used(open);
        self.unsought = false;
        gone || came
    }

    fn take_out_unused(&mut self) -> bool {
        if self.borrowed.is_empty() {
            return false;
        }
        let is_own = |id: &FileId| !self.borrowed.contains(&self.workspace.file(*id).path);
        let mut due: Vec<_> = self.workspace.file_ids().filter(is_own).collect();
        let mut reached: FxHashSet<_> = due.iter().copied().collect();
        while let Some(file) = due.pop() {
            let used = self.workspace.uses(file).iter();
            let used = used.filter_map(|used| used.target.as_ref().ok());
            due.extend(used.filter(|file| reached.insert(**file)));
        }
        let all = self.workspace.file_ids();
        let unused = all.filter(|id| !reached.contains(id));
        let unused = unused.map(|id| self.workspace.file(id).path.clone());
        let unused: Vec<_> = unused.collect();
        unused.iter().for_each(|path| self.take_out(path));
        !unused.is_empty()
    }

    fn bring_in_used(&mut self, open: &dyn Fn(&Path) -> Option<String>) -> bool {
        let (Some(folder), Some(excluded)) = (&self.folder, &self.excluded) else {
            return false;
        };
        let filter = FileFilter::new(folder, excluded, &self.without);
        let shown = |path: &Path| disk::relative(folder, path).map_or_else(String::new, Into::into);
        let find = |paths: &[SmolStr]| -> Result<_, Infallible> {
            Ok(filter.used(paths, |path| open(path).map(Content::from), shown))
        };
        let added = |workspace: &Workspace, id| {
            self.checked.insert_file(workspace, id);
            self.borrowed.insert(workspace.file(id).path.clone());
        };
        let Ok(any) = disk::add_used(&mut self.workspace, &mut self.tried, find, added);
        if any {
            self.refused.forget();
        }
        any
    }
}
