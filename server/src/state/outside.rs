//! What happens on the disk, outside the editor.

use std::path::{Path, PathBuf};

use super::State;
use crate::disk;

impl State {
    /// Files or folders came, changed or went outside the editor.
    pub(crate) fn changed_on_disk(&mut self, paths: &[PathBuf]) {
        self.shape += 1;
        let gone = |path: &Path| {
            let mut folders = self
                .roots
                .values()
                .filter_map(|root| root.folder.as_deref());
            folders.any(|folder| folder.starts_with(path)) && !path.is_dir()
        };
        if paths.iter().any(|path| disk::decides(path) || gone(path)) {
            self.reload();
            return;
        }
        let mut files = Vec::new();
        for path in paths {
            if self.files_below(path, &mut files) {
                self.reload();
                return;
            }
            if !path.is_dir() {
                files.push(path.clone());
            }
        }
        files.sort_unstable();
        files.dedup();
        self.refresh(&files);
        self.follow_texts();
    }

    /// Every file in the folder that is there, or was: a folder that moves
    /// takes its files along. Says whether a repository came with it.
    fn files_below(&self, folder: &Path, files: &mut Vec<PathBuf>) -> bool {
        for root in self.roots.values() {
            let own = root.folder.as_deref();
            if let Some(name) = own.and_then(|own| disk::relative(own, folder)) {
                files.extend(root.below(&name).filter_map(|id| root.path_of(id)));
            }
        }
        if !folder.is_dir() {
            return false;
        }
        let owner = self.owner(folder).and_then(|(id, _)| self.roots.get(&id));
        let Some(listing) = owner.and_then(|root| root.listing(folder)) else {
            return false;
        };
        let came = |inner: &Path| !self.holds_whole(inner);
        let comes = (disk::marks(folder) && came(folder)) || listing.inner().any(came);
        files.extend(listing.files);
        comes
    }
}
