//! Which repository a file belongs to, and which are held.

use std::path::{Path, PathBuf};

use smol_str::SmolStr;
use tower_lsp::lsp_types::Url;

use super::{Root, RootId, State};
use crate::disk;

impl State {
    pub(super) fn home(&mut self, url: &Url) -> Option<(RootId, SmolStr)> {
        let Some(path) = disk::path(url) else {
            let id = self.add_root(None, false);
            return Some((id, url.as_str().into()));
        };
        // One that was passed over, with what is around it, is still its own.
        match disk::marked_root(&path) {
            Some(folder) if !self.holds_whole(&folder) => self.add_roots(folder),
            None if self.owner(&path).is_none() => {
                let folder = path.parent().map(Path::to_owned);
                self.add_root(Some(folder?), false);
            }
            _ => {}
        }
        self.owner(&path)
    }

    /// Whether the folder is a repository that is held, with all in it.
    pub(super) fn holds_whole(&self, folder: &Path) -> bool {
        let mut roots = self.roots.values();
        roots.any(|root| root.whole && root.folder.as_deref() == Some(folder))
    }

    /// The repository that the path belongs to: the innermost around it, else
    /// that of what is open in its own folder. What lies beside or below does
    /// not matter, so that nothing hangs on what was opened first.
    pub(super) fn owner(&self, path: &Path) -> Option<(RootId, SmolStr)> {
        let around = self.roots.iter().filter_map(|(id, root)| {
            let folder = root.folder.as_deref()?;
            let holds = root.whole || path.parent() == Some(folder);
            let name = disk::relative(folder, path).filter(|_| holds)?;
            Some(((root.whole, folder.components().count()), (*id, name)))
        });
        around.max_by_key(|(rank, _)| *rank).map(|(_, home)| home)
    }

    /// Adds a repository, and those in it.
    pub(super) fn add_roots(&mut self, folder: PathBuf) {
        let mut due = vec![folder];
        while let Some(folder) = due.pop() {
            let id = self.add_root(Some(folder), true);
            let inner = self.roots.get(&id).map(|root| &root.inner);
            due.extend(inner.into_iter().flatten().cloned());
        }
    }

    fn add_root(&mut self, folder: Option<PathBuf>, whole: bool) -> RootId {
        let held = self.roots.iter().find(|(_, root)| root.folder == folder);
        if let Some((id, root)) = held
            && (root.whole || !whole)
        {
            return *id;
        }
        let id = held.map_or(RootId(self.next), |(id, _)| *id);
        self.next = self.next.max(id.0 + 1);
        let mut without = Vec::new();
        if let Some(own) = folder.as_deref().filter(|_| whole) {
            for root in self.roots.values_mut().filter(|root| root.whole) {
                let Some(other) = root.folder.as_deref().filter(|other| *other != own) else {
                    continue;
                };
                if other.starts_with(own) {
                    without.push(other.to_owned());
                } else if own.starts_with(other) {
                    root.hand_over(own);
                }
            }
        }
        let root = Root::load(folder, whole, without, self.options());
        self.roots.insert(id, root);
        id
    }

    /// Lets go of what was held for documents that are no longer open.
    pub(super) fn let_go(&mut self) {
        let homes = self.documents.values();
        let homes: Vec<_> = homes
            .filter_map(|document| Some(document.home.as_ref()?.0))
            .collect();
        self.roots
            .retain(|id, root| root.whole || homes.contains(id));
    }
}
