//! What stands against giving files another place, and what becomes of them.

use std::path::Path;

use gutta_notation::visible;
use gutta_protocol::FileId;
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::RootId;
use super::{Site, State};
use crate::disk::{self, FileFilter, SkipReason};

/// A file or folder, by its paths from the root before and after.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Move {
    pub(crate) from: SmolStr,
    /// `None` where it leaves the repository.
    pub(crate) to: Option<SmolStr>,
}

/// What is to be said of moves.
#[derive(Debug, Default)]
pub(crate) struct MoveAdvice {
    /// Why no `use` line is changed: then none is.
    pub(crate) against: Vec<String>,
    /// What is to be known besides.
    pub(crate) besides: Vec<String>,
}

impl State {
    /// Looks at the moves of a repository's files and folders.
    pub(crate) fn look_at_moves(&self, id: RootId, site: Site<'_>, moves: &[Move]) -> MoveAdvice {
        let mut said = MoveAdvice::default();
        let root = self.roots.get(&id);
        let Some((root, folder)) = root.and_then(|root| Some((root, root.folder.as_deref()?)))
        else {
            return said;
        };
        let moved: Vec<(FileId, Option<String>)> = moves
            .iter()
            .flat_map(|step| {
                let below = at_or_below(site, &step.from).into_iter();
                below.map(|(file, rest)| (file, step.to.as_ref().map(|to| format!("{to}{rest}"))))
            })
            .collect();
        let leaving: FxHashSet<&str> = moved
            .iter()
            .map(|(file, _)| site.workspace.file(*file).path.as_str())
            .collect();
        let mut taken = FxHashSet::default();
        for (file, to) in &moved {
            let from = &site.workspace.file(*file).path;
            let Some(to) = to else {
                said.against.extend(left(site, *file, &moved));
                continue;
            };
            let (shown, path) = (visible(to), folder.join(to));
            let is_there =
                || path.symlink_metadata().is_ok() || site.workspace.file_at(to).is_some();
            if to == from {
                continue;
            }
            if shown != *to {
                said.against.push(format!(
                    "`{shown}` has characters that cannot be seen or that change the order of what is read: give it another name."
                ));
            } else if !taken.insert(to.as_str())
                || (is_there()
                    && !leaving.contains(to.as_str())
                    && !is_one(&folder.join(&**from), &path))
            {
                said.against.push(format!(
                    "There is a file `{to}` already: give `{from}` another name, or move the other away first."
                ));
            } else if let Some(why) = root.passes_over_at(&path) {
                let shown =
                    |path: &Path| disk::relative(folder, path).map_or_else(String::new, Into::into);
                let told = why.told(shown);
                if why == SkipReason::OtherEnding {
                    said.against.push(format!(
                        "`{to}` would not be read as an order file ({told}): give it another name."
                    ));
                } else if !root.is_borrowed(from) {
                    said.besides
                        .push(format!("`{to}` will not be checked any more: {told}."));
                }
            }
        }
        said
    }
}

/// The file at the path, or the files below it, each with the rest of its
/// path.
pub(crate) fn at_or_below<'a>(site: Site<'a>, path: &str) -> Vec<(FileId, &'a str)> {
    let workspace = site.workspace;
    if let Some(file) = workspace.file_at(path) {
        return vec![(file, "")];
    }
    let below = format!("{path}/");
    let files = &workspace.files;
    let first = files.partition_point(|file| file.path.as_str() < below.as_str());
    let inside = files.iter().enumerate().skip(first);
    inside
        .map_while(|(index, file)| {
            let rest = file.path.strip_prefix(path)?;
            rest.starts_with('/').then(|| (FileId::at(index), rest))
        })
        .collect()
}

/// What is said of a file that leaves the repository: of which `use` lines find
/// nothing any more.
fn left(site: Site<'_>, file: FileId, moved: &[(FileId, Option<String>)]) -> Option<String> {
    let workspace = site.workspace;
    let from = &workspace.file(file).path;
    let stays = |other: &FileId| !moved.iter().any(|(moved, _)| moved == other);
    let users = workspace.seen_by(file).iter().copied().filter(stays);
    let users = users.filter(|user| {
        let mut uses = workspace.uses(*user).iter();
        uses.any(|used| used.target.as_ref().ok() == Some(&file))
    });
    let users: Vec<_> = users
        .map(|user| format!("`{}`", visible(&workspace.file(user).path)))
        .collect();
    let own = workspace.uses(file).len();
    if users.is_empty() && own == 0 {
        return None;
    }
    let mut said = format!("`{}` leaves the workspace.", visible(from));
    if !users.is_empty() {
        said.push_str(&format!(
            " `use` lines that name it will find nothing there: {}.",
            users.join(", ")
        ));
    }
    if own > 0 {
        said.push_str(" Files that its own `use` lines name may not be found from there.");
    }
    said.push_str(" No line is changed: change them by hand, or move it back.");
    Some(said)
}

/// Whether both paths lead to one file, as where capitals do not count.
fn is_one(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| path.canonicalize().ok();
    real(one).is_some_and(|one| real(other) == Some(one)) && !is_link(one) && !is_link(other)
}

fn is_link(path: &Path) -> bool {
    path.symlink_metadata().is_ok_and(|meta| meta.is_symlink())
}

impl super::Root {
    /// Why a file that came to the path would be passed over.
    fn passes_over_at(&self, path: &Path) -> Option<SkipReason> {
        let excluded = self.excluded.as_ref().filter(|_| self.whole)?;
        let folder = self.folder.as_deref()?;
        FileFilter::new(folder, excluded, &self.without).why_by_name(path)
    }
}
