//! What happens on the disk, outside the editor.

use std::path::Path;

use rustc_hash::FxHashSet;
use tower_lsp::lsp_types::Url;

use super::State;
use crate::disk;

impl State {
    /// A file came, changed or went outside the editor.
    pub(crate) fn changed_on_disk(&mut self, path: &Path) {
        self.shape += 1;
        if path
            .file_name()
            .is_some_and(|name| name == disk::HOUSE_FILE)
        {
            self.reload();
            return;
        }
        let open = Url::from_file_path(path).is_ok_and(|url| self.documents.contains_key(&url));
        if open {
            return;
        }
        if path.is_dir() {
            return self.folder_changed_on_disk(path);
        }
        let open: FxHashSet<_> = self
            .documents
            .values()
            .filter_map(|document| document.home.clone())
            .collect();
        for (id, root) in &mut self.roots {
            let Some(name) = root
                .folder
                .as_deref()
                .and_then(|folder| disk::relative(folder, path))
            else {
                continue;
            };
            let known = root.workspace.file_at(&name).is_some();
            let is_order = path.extension().is_some_and(|end| end == disk::EXTENSION);
            let wanted = known || (root.whole && is_order && !root.excludes(path));
            let there = root
                .folder
                .as_deref()
                .and_then(|folder| disk::inside(folder, &name));
            match there.and_then(|path| disk::read(&path).ok()) {
                Some(content) if wanted => root.put(&name, content),
                Some(_) => root.look_again(),
                None => {
                    root.take_out(&name);
                    // A folder that went took its files with it.
                    let below = format!("{name}/");
                    let gone: Vec<_> = root
                        .workspace
                        .files
                        .iter()
                        .filter(|file| file.path.starts_with(&below))
                        .map(|file| file.path.clone())
                        .filter(|path| !open.contains(&(*id, path.clone())))
                        .collect();
                    gone.iter().for_each(|path| root.take_out(path));
                }
            }
        }
    }

    /// A folder in a repository came or changed: every file in it that is
    /// there, or was.
    fn folder_changed_on_disk(&mut self, folder: &Path) {
        let mut paths = Vec::new();
        for root in self.roots.values() {
            let own = root.folder.as_deref();
            let Some(name) = own.and_then(|own| disk::relative(own, folder)) else {
                continue;
            };
            let files = root.workspace.file_ids();
            let below = files.filter(|id| {
                let path = &root.workspace.file(*id).path;
                path.strip_prefix(name.as_str())
                    .is_some_and(|rest| rest.starts_with('/'))
            });
            paths.extend(below.filter_map(|id| root.path_of(id)));
            if root.whole {
                paths.extend(disk::orders_below(folder));
            }
        }
        paths.sort_unstable();
        paths.dedup();
        paths.iter().for_each(|path| self.changed_on_disk(path));
    }
}
