//! What each repository holds of a file: the text of the open document, else
//! what is on the disk.

use std::path::{Path, PathBuf};

use rustc_hash::{FxHashMap, FxHashSet};
use tower_lsp::lsp_types::Url;

use super::{Document, Root, State};
use crate::disk;

impl State {
    /// Gives every repository what it is to hold of the files, whatever came
    /// before. Only the one that a file belongs to takes it up by itself.
    pub(super) fn refresh(&mut self, paths: &[PathBuf]) {
        let owners: Vec<_> = paths
            .iter()
            .map(|path| self.owner(path).map(|(id, _)| id))
            .collect();
        let documents = &self.documents;
        let mut passed = Vec::new();
        for (id, root) in &mut self.roots {
            let Some(folder) = root.folder.clone() else {
                continue;
            };
            let own = paths.iter().zip(&owners);
            let own: FxHashSet<&Path> = own
                .filter(|(_, owner)| **owner == Some(*id))
                .map(|(path, _)| path.as_path())
                .collect();
            let listed = listed(root, &own, documents);
            for path in paths {
                let Some(name) = disk::relative(&folder, path) else {
                    continue;
                };
                let buffer = text(documents, path);
                let open = buffer.is_some() && own.contains(path.as_path());
                let judged = (open && !root.excludes(path)) || listed.contains(path);
                if open {
                    passed.push((path.clone(), root.passes_over(path)));
                }
                let on_disk = || disk::found(&disk::inside(&folder, &name)?);
                let content = buffer.map(Into::into).or_else(on_disk);
                root.set_content(&name, content, judged);
            }
        }
        for (path, why) in passed {
            let open = self.documents.values_mut();
            for document in open.filter(|document| document.is_at(&path)) {
                document.passed.clone_from(&why);
            }
        }
    }

    /// Sees to what hangs on texts that changed: which files are used, and
    /// whether what the house sets by name is there.
    pub(super) fn follow_texts(&mut self) {
        let documents = &self.documents;
        for root in self.roots.values_mut() {
            if root.follow_uses(&|path| text(documents, path)) {
                self.shape += 1;
            }
            if root.judge_house() {
                self.shape += 1;
                self.house_changed = true;
            }
        }
    }
}

/// Those of a repository's own files, as the disk has them, that belong to it
/// without being named.
fn listed(
    root: &mut Root,
    own: &FxHashSet<&Path>,
    documents: &FxHashMap<Url, Document>,
) -> FxHashSet<PathBuf> {
    let asked = own.iter().filter(|path| {
        let is_order = path.extension().is_some_and(|end| end == disk::EXTENSION);
        is_order && !documents.values().any(|held| held.is_at(path))
    });
    root.listed(&asked.copied().collect())
}

fn text(documents: &FxHashMap<Url, Document>, path: &Path) -> Option<String> {
    let open = documents.values().find(|held| held.is_at(path))?;
    Some(open.rope.to_string())
}
