//! What a workspace leaves out: by `exclude` in `gutta.toml`, and by the files
//! in it that git, too, goes by. What stands above the workspace, or in the
//! settings of one person, is not asked: two people are to check the same.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use gutta_protocol::House;
use ignore::Match;
use ignore::gitignore::{Gitignore, GitignoreBuilder};
use rustc_hash::FxHashMap;

use super::open;

/// The files that say what is passed over; of two that differ the later holds.
pub(crate) const IGNORE_FILES: [&str; 2] = [".gitignore", ".ignore"];

/// So many bytes of such a file are read; a longer one says nothing.
const MOST: u64 = 1024 * 1024;

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
        // A `[` that nothing closes would else be a letter, and exclude nothing.
        builder.allow_unclosed_class(false);
        let mut wrong = None;
        let mut tell = |why: String| {
            wrong.get_or_insert_with(|| format!("exclude: {why}"));
        };
        for pattern in &house.exclude {
            let mut alone = GitignoreBuilder::new(folder);
            alone.allow_unclosed_class(false);
            let read = alone
                .add_line(None, pattern)
                .and_then(|alone| alone.build());
            match read {
                Err(error) => {
                    let why = without_pattern(&error);
                    tell(format!("the pattern `{pattern}` cannot be read: {why}"));
                }
                Ok(alone) if alone.is_empty() => {
                    tell(format!(
                        "`{pattern}` matches nothing: it is empty, or a comment"
                    ));
                }
                Ok(_) => {
                    let _ = builder.add_line(None, pattern);
                }
            }
        }
        let patterns = builder.build().unwrap_or_else(|error| {
            tell(without_pattern(&error));
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
        let Ok(inner) = path.strip_prefix(&self.folder) else {
            return false;
        };
        let around = inner.ancestors().skip(1);
        let mut around = around.filter(|folder| !folder.as_os_str().is_empty());
        self.name(path, is_folder)
            || around.any(|folder| self.name(&self.folder.join(folder), true))
    }

    /// Whether the path itself is, whatever is around it.
    pub(super) fn name(&self, path: &Path, is_folder: bool) -> bool {
        path != self.folder && self.patterns.matched(path, is_folder).is_ignore()
    }
}

/// What is wrong with a pattern, without the pattern.
fn without_pattern(error: &ignore::Error) -> String {
    match error {
        ignore::Error::Glob { err, .. } => err.clone(),
        error => error.to_string(),
    }
}

/// What is ignored in a folder: by files in it, and in those around it up to
/// where the workspace begins.
#[derive(Debug)]
pub(super) struct Ignores {
    /// Parallel to [`IGNORE_FILES`].
    own: [Option<Gitignore>; 2],
    around: Option<Arc<Self>>,
}

/// Who says that something is ignored.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Ignored {
    /// The file.
    pub by: PathBuf,
    /// Its line.
    pub pattern: String,
}

impl Ignores {
    /// What the folder adds to what holds around it.
    pub(super) fn of(folder: &Path, around: Option<Arc<Self>>) -> Arc<Self> {
        let text = |path: &Path| open::text(path, MOST).ok();
        Self::of_texts(folder, around, text)
    }

    /// The same by the texts of those files, wherever they come from.
    fn of_texts(
        folder: &Path,
        around: Option<Arc<Self>>,
        text: impl Fn(&Path) -> Option<String>,
    ) -> Arc<Self> {
        let own = IGNORE_FILES.map(|name| {
            let path = folder.join(name);
            patterns(folder, &path, &text(&path)?)
        });
        match around {
            // Most folders have none.
            Some(around) if own.iter().all(Option::is_none) => around,
            around => Arc::new(Self { own, around }),
        }
    }

    /// Who ignores the path, if anyone does.
    pub(super) fn of_path(&self, path: &Path, is_folder: bool) -> Option<Ignored> {
        let found = (0..IGNORE_FILES.len()).rev().find_map(|which| {
            let mut level = Some(self);
            while let Some(held) = level {
                let patterns = held.own.get(which).and_then(Option::as_ref);
                match patterns.map(|patterns| patterns.matched(path, is_folder)) {
                    Some(Match::None) | None => level = held.around.as_deref(),
                    Some(found) => return Some(found),
                }
            }
            None
        });
        match found {
            Some(Match::Ignore(glob)) => Some(Ignored {
                by: glob.from().map(Path::to_owned).unwrap_or_default(),
                pattern: glob.original().to_owned(),
            }),
            _ => None,
        }
    }
}

fn patterns(folder: &Path, path: &Path, text: &str) -> Option<Gitignore> {
    let mut builder = GitignoreBuilder::new(folder);
    for line in text.trim_start_matches('\u{feff}').lines() {
        // A line that cannot be read ignores nothing.
        let _ = builder.add_line(Some(path.to_owned()), line);
    }
    builder.build().ok()
}

/// What is ignored in each folder, read once.
#[derive(Default)]
pub(super) struct Levels(FxHashMap<PathBuf, Arc<Ignores>>);

impl Levels {
    pub(super) fn of(&mut self, top: &Path, folder: &Path) -> Arc<Ignores> {
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

/// What is ignored in a state of a workspace that is not on the disk.
#[derive(Debug)]
pub struct IgnoredThen<'a> {
    top: &'a Path,
    levels: FxHashMap<PathBuf, Arc<Ignores>>,
}

impl<'a> IgnoredThen<'a> {
    /// By what was in its lists: the folder of each, its name and its text.
    #[must_use]
    pub fn of(top: &'a Path, mut lists: Vec<(PathBuf, String)>) -> Self {
        // Outer folders first: what is around a folder is there before it.
        lists.sort();
        let texts: FxHashMap<_, _> = lists.iter().cloned().collect();
        let mut then = Self {
            top,
            levels: FxHashMap::default(),
        };
        let text = |path: &Path| {
            let text = texts.get(path)?;
            (text.len() as u64 <= MOST).then(|| text.clone())
        };
        let mut folders: Vec<_> = lists
            .iter()
            .filter_map(|(path, _)| path.parent().map(Path::to_owned))
            .collect();
        folders.sort();
        folders.dedup();
        for folder in folders {
            let around = folder.parent().and_then(|around| then.level(around));
            let level = Ignores::of_texts(&folder, around, text);
            then.levels.insert(folder, level);
        }
        then
    }

    /// What holds in a folder: the list of it, or of the nearest around it.
    fn level(&self, folder: &Path) -> Option<Arc<Ignores>> {
        let around = folder.ancestors();
        let mut around = around.take_while(|folder| folder.starts_with(self.top));
        around.find_map(|folder| self.levels.get(folder).cloned())
    }

    /// Who ignored the file or folder itself, if anyone did.
    #[must_use]
    pub fn of_path(&self, path: &Path, is_folder: bool) -> Option<Ignored> {
        let level = self.level(path.parent()?)?;
        level.of_path(path, is_folder)
    }
}

/// Whether the file says what is ignored around it.
#[must_use]
pub fn is_list(name: &str) -> bool {
    IGNORE_FILES.contains(&name)
}
