//! Which files a workspace holds, and which it passes over and why: one answer
//! for the command and for the editor.

use std::fs::FileType;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::ignored::{Exclusions, Ignores};
use super::nearly::nearly;
use super::open::{plainly, regular};
use super::passed::{Passed, Why};
use super::{EXTENSION, HOUSE_FILE, marks, relative};

/// In a folder that is ignored, so many names are looked at for orders.
const LOOKED_AT: usize = 100_000;

/// A workspace, as far as what belongs to it goes.
#[derive(Clone, Debug)]
pub struct Ground<'a> {
    /// Where it begins: absolute.
    folder: &'a Path,
    /// The same without links; none where it is not there.
    real: Option<PathBuf>,
    excluded: &'a Exclusions,
    /// Folders that are another's, though no `gutta.toml` marks them.
    without: &'a [PathBuf],
}

/// What a workspace holds, each in the order of paths.
#[derive(Debug, Default)]
pub struct Listing {
    /// The files to read.
    pub files: Vec<PathBuf>,
    /// What is not read.
    pub passed: Vec<Passed>,
}

impl Listing {
    /// The outermost workspaces in it.
    pub fn inner(&self) -> impl Iterator<Item = &Path> {
        let inner = self.passed.iter().filter(|passed| passed.why == Why::Inner);
        inner.map(|passed| passed.path.as_path())
    }

    fn add(&mut self, other: Self) {
        self.files.extend(other.files);
        self.passed.extend(other.passed);
    }
}

/// What becomes of an entry of a folder.
enum Fate {
    Read,
    Enter,
    Pass(Why),
}

impl<'a> Ground<'a> {
    /// The workspace that begins at the folder.
    #[must_use]
    pub fn new(folder: &'a Path, excluded: &'a Exclusions, without: &'a [PathBuf]) -> Self {
        Self {
            folder,
            real: folder.canonicalize().ok(),
            excluded,
            without,
        }
    }

    /// What is in a folder of the workspace. The folder itself is entered
    /// whatever it is called and whoever ignores it: somebody named it.
    #[must_use]
    pub fn list(&self, start: &Path) -> Listing {
        let mut levels = Levels::default();
        let mut all = Listing::default();
        let mut due = vec![(start.to_owned(), levels.of(self.folder, start))];
        // Folder by folder in rounds, so that no depth can use up the stack.
        while !due.is_empty() {
            let found: Vec<_> = due
                .into_par_iter()
                .map(|(folder, level)| self.folder(&folder, &level))
                .collect();
            due = Vec::new();
            for (listing, folders) in found {
                all.add(listing);
                due.extend(folders);
            }
        }
        all.files.sort();
        all.passed.sort_by(|one, other| one.path.cmp(&other.path));
        all
    }

    /// Why each of these files is passed over unless it is named; none for
    /// those that are read, and for what is not there.
    #[must_use]
    pub fn why(&self, paths: &[&Path]) -> Vec<Option<Why>> {
        let mut levels = Levels::default();
        let mut one = |path: &Path| {
            let inner = path.strip_prefix(self.folder).ok()?;
            let mut at = self.folder.to_owned();
            for part in inner.components() {
                let level = levels.of(self.folder, &at);
                at.push(part);
                let kind = std::fs::symlink_metadata(&at).ok()?.file_type();
                match self.fate(&at, kind, &level) {
                    Fate::Pass(why) => return Some(why),
                    Fate::Read | Fate::Enter => {}
                }
            }
            None
        };
        paths.iter().map(|path| one(path)).collect()
    }

    /// Why a file that is to come to the path would be passed over, as far as
    /// its name says.
    #[must_use]
    pub fn why_by_name(&self, path: &Path) -> Option<Why> {
        let mut levels = Levels::default();
        let inner = path.strip_prefix(self.folder).ok()?;
        let mut at = self.folder.to_owned();
        let parts: Vec<_> = inner.components().collect();
        for (place, part) in parts.iter().enumerate() {
            let level = levels.of(self.folder, &at);
            at.push(part);
            let is_folder = place + 1 < parts.len();
            if let Some(why) = self.passes_name(&at, is_folder) {
                return Some(why);
            }
            if let Some(ignored) = level.of_path(&at, is_folder) {
                return Some(Why::Ignored(ignored));
            }
        }
        let is_order = path.extension().is_some_and(|end| end == EXTENSION);
        (!is_order).then_some(Why::OtherEnding)
    }

    fn passes_name(&self, path: &Path, is_folder: bool) -> Option<Why> {
        let name = path.file_name().unwrap_or_default();
        if name.as_encoded_bytes().starts_with(b".") {
            return Some(Why::Hidden);
        }
        self.excluded.name(path, is_folder).then_some(Why::Excluded)
    }

    /// A folder's own entries, and the folders in it to enter.
    fn folder(
        &self,
        folder: &Path,
        level: &Arc<Ignores>,
    ) -> (Listing, Vec<(PathBuf, Arc<Ignores>)>) {
        let mut listing = Listing::default();
        let mut enter = Vec::new();
        let pass = |listing: &mut Listing, path: &Path, is_folder, why| {
            listing.passed.push(Passed {
                path: path.to_owned(),
                is_folder,
                why,
            });
        };
        let entries = match std::fs::read_dir(folder) {
            Ok(entries) => entries,
            // A folder that has gone since it was listed is not there.
            Err(error) if error.kind() == ErrorKind::NotFound => return (listing, enter),
            Err(error) => {
                pass(&mut listing, folder, true, Why::Unreadable(plainly(&error)));
                return (listing, enter);
            }
        };
        for entry in entries {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    pass(&mut listing, folder, true, Why::Unreadable(plainly(&error)));
                    continue;
                }
            };
            let path = entry.path();
            if entry.file_name() == HOUSE_FILE {
                continue;
            }
            let kind = match entry.file_type() {
                Ok(kind) => kind,
                Err(error) if error.kind() == ErrorKind::NotFound => continue,
                Err(error) => {
                    pass(&mut listing, &path, false, Why::Unreadable(plainly(&error)));
                    continue;
                }
            };
            match self.fate(&path, kind, level) {
                Fate::Read => listing.files.push(path),
                Fate::Enter => {
                    let own = Ignores::of(&path, Some(Arc::clone(level)));
                    enter.push((path, own));
                }
                Fate::Pass(Why::Ignored(ignored)) if kind.is_dir() => match orders_in(&path) {
                    Looked::Orders(orders) if orders.is_empty() => {
                        pass(&mut listing, &path, true, Why::IgnoredBare(ignored));
                    }
                    Looked::Orders(orders) => {
                        for order in orders {
                            pass(&mut listing, &order, false, Why::Ignored(ignored.clone()));
                        }
                    }
                    Looked::TooMuch => pass(&mut listing, &path, true, Why::Ignored(ignored)),
                },
                Fate::Pass(why) => pass(&mut listing, &path, kind.is_dir(), why),
            }
        }
        (listing, enter)
    }

    fn fate(&self, path: &Path, kind: FileType, level: &Ignores) -> Fate {
        let is_folder = kind.is_dir();
        let by_name = self.passes_name(path, is_folder);
        let is_order = path.extension().is_some_and(|end| end == EXTENSION);
        let near = path.file_name().filter(|_| !is_folder).and_then(nearly);
        let other = !is_folder && !is_order && near.is_none() && !kind.is_symlink();
        if other && by_name != Some(Why::Hidden) {
            return Fate::Pass(Why::OtherEnding);
        }
        if let Some(why) = by_name {
            return Fate::Pass(why);
        }
        // One of its own is nobody else's to ignore.
        if is_folder && (marks(path) || self.without.iter().any(|other| other == path)) {
            return Fate::Pass(Why::Inner);
        }
        if let Some(ignored) = level.of_path(path, is_folder) {
            let nothing = !is_folder && !is_order && near.is_none();
            return Fate::Pass(if nothing {
                Why::OtherEnding
            } else {
                Why::Ignored(ignored)
            });
        }
        if is_folder {
            return Fate::Enter;
        }
        if let Some(near) = near {
            return Fate::Pass(Why::Nearly(near));
        }
        if kind.is_symlink() {
            return self.fate_of_link(path, is_order);
        }
        if kind.is_file() {
            return self.by_name(path);
        }
        match std::fs::metadata(path).and_then(|meta| regular(&meta)) {
            Ok(()) => self.by_name(path),
            Err(error) => Fate::Pass(Why::Unreadable(plainly(&error))),
        }
    }

    fn fate_of_link(&self, path: &Path, is_order: bool) -> Fate {
        let meta = match std::fs::metadata(path) {
            Ok(meta) => meta,
            Err(_) if !is_order => return Fate::Pass(Why::OtherEnding),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                return Fate::Pass(Why::Unreadable(
                    "it is a link that leads nowhere".to_owned(),
                ));
            }
            Err(error) => return Fate::Pass(Why::Unreadable(plainly(&error))),
        };
        let is_out = !self.holds(path);
        if meta.is_dir() {
            let bare = !is_out || is_bare(path);
            return Fate::Pass(if bare {
                Why::LinkToFolder
            } else {
                Why::LinkOut
            });
        }
        match (is_order, is_out, regular(&meta)) {
            (false, ..) => Fate::Pass(Why::OtherEnding),
            (true, true, _) => Fate::Pass(Why::LinkOut),
            (true, false, Err(error)) => Fate::Pass(Why::Unreadable(plainly(&error))),
            (true, false, Ok(())) => self.by_name(path),
        }
    }

    fn by_name(&self, path: &Path) -> Fate {
        match relative(self.folder, path) {
            Some(_) => Fate::Read,
            None => Fate::Pass(Why::NotUtf8),
        }
    }

    /// Whether what the path leads to lies in the workspace. What a link brings
    /// in from elsewhere can change unseen.
    fn holds(&self, path: &Path) -> bool {
        let real = path.canonicalize().ok();
        let around = self.real.as_ref();
        real.is_some_and(|real| around.is_some_and(|around| real.starts_with(around)))
    }
}

/// What is ignored in each folder, read once.
#[derive(Default)]
struct Levels(FxHashMap<PathBuf, Arc<Ignores>>);

impl Levels {
    fn of(&mut self, top: &Path, folder: &Path) -> Arc<Ignores> {
        if let Some(held) = self.0.get(folder) {
            return Arc::clone(held);
        }
        let mut level = Ignores::of(top, None);
        let mut at = top.to_owned();
        let inner = folder.strip_prefix(top).unwrap_or(Path::new(""));
        for part in inner.components() {
            at.push(part);
            level = Ignores::of(&at, Some(level));
        }
        self.0.insert(folder.to_owned(), Arc::clone(&level));
        level
    }
}

/// What was found of orders where nothing is read.
enum Looked {
    Orders(Vec<PathBuf>),
    /// There is more than is looked at.
    TooMuch,
}

/// The order files anywhere below a folder that is ignored.
fn orders_in(folder: &Path) -> Looked {
    let mut orders = Vec::new();
    let mut due = vec![folder.to_owned()];
    let mut left = LOOKED_AT;
    while let Some(folder) = due.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let Some(less) = left.checked_sub(1) else {
                return Looked::TooMuch;
            };
            left = less;
            let path = entry.path();
            let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
            if is_folder && entry.file_name() != ".git" {
                due.push(path);
            } else if path.extension().is_some_and(|end| end == EXTENSION) {
                orders.push(path);
            }
        }
    }
    Looked::Orders(orders)
}

/// Whether no order is below the folder, for certain.
fn is_bare(folder: &Path) -> bool {
    matches!(orders_in(folder), Looked::Orders(orders) if orders.is_empty())
}
