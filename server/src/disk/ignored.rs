//! What a workspace leaves out: by `exclude` in `gutta.toml`, and by the files
//! in it that git, too, goes by. What stands above the workspace, or in the
//! settings of one person, is not asked: two people are to check the same.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use gutta_protocol::House;
use ignore::Match;
use ignore::gitignore::{Gitignore, GitignoreBuilder};

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
                        "`{pattern}` names nothing: it is empty, or a comment"
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
        let own = IGNORE_FILES.map(|name| read(folder, name));
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

fn read(folder: &Path, name: &str) -> Option<Gitignore> {
    let path = folder.join(name);
    let text = open::text(&path, MOST).ok()?;
    let mut builder = GitignoreBuilder::new(folder);
    for line in text.trim_start_matches('\u{feff}').lines() {
        // A line that cannot be read ignores nothing.
        let _ = builder.add_line(Some(path.clone()), line);
    }
    builder.build().ok()
}
