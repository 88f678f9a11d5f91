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
            self.files_below(path, &mut files);
            if !path.is_dir() {
                files.push(path.clone());
            }
        }
        files.sort_unstable();
        files.dedup();
        self.seat(&files);
        self.follow_texts();
    }

    /// Every file in the folder that is there, or was: a folder that moves
    /// takes its files along.
    fn files_below(&self, folder: &Path, files: &mut Vec<PathBuf>) {
        for root in self.roots.values() {
            let own = root.folder.as_deref();
            if let Some(name) = own.and_then(|own| disk::relative(own, folder)) {
                files.extend(root.below(&name).filter_map(|id| root.path_of(id)));
            }
        }
        let in_whole = |path| {
            let owner = self.owner(path).and_then(|(id, _)| self.roots.get(&id));
            owner.is_some_and(|root| root.whole)
        };
        if folder.is_dir() && in_whole(folder) {
            files.extend(disk::orders_below(folder));
        }
    }
}
