//! Which files a workspace holds, and which it passes over and why: one answer
//! for the command and for the editor.

use std::fs::FileType;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;

use super::by_name::{by_name, passes_name};
use super::ignored::{Exclusions, Ignores, Levels};
use super::nearly::nearly;
use super::open::{plainly, regular};
use super::orders::{Looked, is_bare, orders_in};
use super::skipped::{SkipReason, Skipped};
use super::{EXTENSION, HOUSE_FILE, marks, relative};

/// A workspace, as far as what belongs to it goes.
#[derive(Clone, Debug)]
pub struct FileFilter<'a> {
    /// Where it begins: absolute.
    pub(super) folder: &'a Path,
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
    pub passed: Vec<Skipped>,
}

impl Listing {
    /// The outermost workspaces in it.
    pub fn inner(&self) -> impl Iterator<Item = &Path> {
        let inner = self
            .passed
            .iter()
            .filter(|passed| passed.why == SkipReason::Inner);
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
    Pass(SkipReason),
}

impl<'a> FileFilter<'a> {
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
    pub fn why(&self, paths: &[&Path]) -> Vec<Option<SkipReason>> {
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
    pub(crate) fn why_by_name(&self, path: &Path) -> Option<SkipReason> {
        let mut levels = Levels::default();
        let ignored = |part: &Path, is_folder| {
            let level = levels.of(self.folder, part.parent()?);
            level.of_path(part, is_folder)
        };
        match by_name(self.folder, path, self.excluded, ignored) {
            // Whoever gives it that name need not mean it to be read.
            Some(SkipReason::Nearly(_)) => Some(SkipReason::OtherEnding),
            why => why,
        }
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
            listing.passed.push(Skipped {
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
                pass(
                    &mut listing,
                    folder,
                    true,
                    SkipReason::Unreadable(plainly(&error)),
                );
                return (listing, enter);
            }
        };
        for entry in entries {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    pass(
                        &mut listing,
                        folder,
                        true,
                        SkipReason::Unreadable(plainly(&error)),
                    );
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
                    pass(
                        &mut listing,
                        &path,
                        false,
                        SkipReason::Unreadable(plainly(&error)),
                    );
                    continue;
                }
            };
            match self.fate(&path, kind, level) {
                Fate::Read => listing.files.push(path),
                Fate::Enter => {
                    let own = Ignores::of(&path, Some(Arc::clone(level)));
                    enter.push((path, own));
                }
                Fate::Pass(SkipReason::Ignored(ignored)) if kind.is_dir() => match orders_in(&path)
                {
                    Looked::Orders(orders) if orders.is_empty() => {
                        pass(&mut listing, &path, true, SkipReason::IgnoredBare(ignored));
                    }
                    Looked::Orders(orders) => {
                        for order in orders {
                            pass(
                                &mut listing,
                                &order,
                                false,
                                SkipReason::Ignored(ignored.clone()),
                            );
                        }
                    }
                    Looked::TooMuch => {
                        pass(&mut listing, &path, true, SkipReason::Ignored(ignored))
                    }
                },
                Fate::Pass(why) => pass(&mut listing, &path, kind.is_dir(), why),
            }
        }
        (listing, enter)
    }

    fn fate(&self, path: &Path, kind: FileType, level: &Ignores) -> Fate {
        let is_folder = kind.is_dir();
        let by_name = passes_name(self.excluded, path, is_folder);
        let is_order = path.extension().is_some_and(|end| end == EXTENSION);
        let near = path.file_name().filter(|_| !is_folder).and_then(nearly);
        let other = !is_folder && !is_order && near.is_none() && !kind.is_symlink();
        if other && by_name != Some(SkipReason::Hidden) {
            return Fate::Pass(SkipReason::OtherEnding);
        }
        if let Some(why) = by_name {
            return Fate::Pass(why);
        }
        // One of its own is nobody else's to ignore.
        if is_folder && (marks(path) || self.without.iter().any(|other| other == path)) {
            return Fate::Pass(SkipReason::Inner);
        }
        if let Some(ignored) = level.of_path(path, is_folder) {
            let nothing = !is_folder && !is_order && near.is_none();
            return Fate::Pass(if nothing {
                SkipReason::OtherEnding
            } else {
                SkipReason::Ignored(ignored)
            });
        }
        if is_folder {
            return Fate::Enter;
        }
        if let Some(near) = near {
            return Fate::Pass(SkipReason::Nearly(near));
        }
        if kind.is_symlink() {
            return self.fate_of_link(path, is_order);
        }
        if kind.is_file() {
            return self.by_name(path);
        }
        match std::fs::metadata(path).and_then(|meta| regular(&meta)) {
            Ok(()) => self.by_name(path),
            Err(error) => Fate::Pass(SkipReason::Unreadable(plainly(&error))),
        }
    }

    fn fate_of_link(&self, path: &Path, is_order: bool) -> Fate {
        let meta = match std::fs::metadata(path) {
            Ok(meta) => meta,
            Err(_) if !is_order => return Fate::Pass(SkipReason::OtherEnding),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                return Fate::Pass(SkipReason::Unreadable(
                    "it is a link that leads nowhere".to_owned(),
                ));
            }
            Err(error) => return Fate::Pass(SkipReason::Unreadable(plainly(&error))),
        };
        let is_out = !self.holds(path);
        if meta.is_dir() {
            let bare = !is_out || is_bare(path);
            return Fate::Pass(if bare {
                SkipReason::LinkToFolder
            } else {
                SkipReason::LinkOut
            });
        }
        match (is_order, is_out, regular(&meta)) {
            (false, ..) => Fate::Pass(SkipReason::OtherEnding),
            (true, true, _) => Fate::Pass(SkipReason::LinkOut),
            (true, false, Err(error)) => Fate::Pass(SkipReason::Unreadable(plainly(&error))),
            (true, false, Ok(())) => self.by_name(path),
        }
    }

    fn by_name(&self, path: &Path) -> Fate {
        match relative(self.folder, path) {
            Some(_) => Fate::Read,
            None => Fate::Pass(SkipReason::NotUtf8),
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
