//! Making a workspace, and changing one file of it.

use rayon::prelude::*;
use smol_str::SmolStr;

use super::Workspace;
use crate::House;
use crate::names::Names;
use crate::source::{Content, FileId, read_file};

impl Workspace {
    /// Reads all files, in parallel. Paths are relative to the workspace
    /// root, with forward slashes; of two contents for one path the later
    /// holds.
    #[must_use]
    pub fn new<P, C>(files: Vec<(P, C)>, house: House) -> Self
    where
        P: Into<SmolStr>,
        C: Into<Content>,
    {
        let mut given: Vec<(SmolStr, Content)> = files
            .into_iter()
            .rev()
            .map(|(path, content)| (path.into(), content.into()))
            .collect();
        given.sort_by(|a, b| a.0.cmp(&b.0));
        given.dedup_by(|later, kept| later.0 == kept.0);
        let style = house.style;
        let files: Vec<_> = given
            .into_par_iter()
            .map(|(path, content)| read_file(path, content, style))
            .collect();
        let names = Names::of(&files);
        Self {
            files,
            house,
            names,
        }
    }

    /// Puts `content` in the place of the file at `path`, or adds the file.
    /// Only this file is read again, and who judges it stays. Adding one shifts
    /// the ids of the files behind it.
    pub fn replace_file(&mut self, path: &str, content: impl Into<Content>) -> FileId {
        let mut file = read_file(path.into(), content.into(), self.house.style);
        match self
            .files
            .binary_search_by(|held| held.path.as_str().cmp(path))
        {
            Ok(index) => {
                file.unjudged = self.files[index].unjudged.take();
                self.files[index] = file;
                let id = FileId::at(index);
                self.names.replace(&self.files, id);
                id
            }
            Err(index) => {
                self.files.insert(index, file);
                let id = FileId::at(index);
                self.names.insert(&self.files, id);
                id
            }
        }
    }

    /// The same for a file that is only leaned on; `unjudged` says why no check
    /// reads it, if none does.
    pub fn lean_on(
        &mut self,
        path: &str,
        content: impl Into<Content>,
        unjudged: Option<&str>,
    ) -> FileId {
        let id = self.replace_file(path, content);
        self.files[id.0 as usize].unjudged = unjudged.map(SmolStr::from);
        id
    }

    /// Several workspaces as one, to be shown together: each with the path that
    /// stands before those of its files (empty, or with a slash at its end).
    /// Says of each which ids its files have now.
    #[must_use]
    pub fn side_by_side(parts: Vec<(String, Self)>) -> (Self, Vec<Vec<FileId>>) {
        let mut all = Vec::new();
        let mut ids: Vec<_> = parts
            .iter()
            .map(|(_, part)| vec![FileId(0); part.files.len()])
            .collect();
        for (number, (before, part)) in parts.into_iter().enumerate() {
            for (index, mut file) in part.files.into_iter().enumerate() {
                file.path = SmolStr::from(before.clone() + &file.path);
                all.push((number, index, file));
            }
        }
        all.sort_by(|one, other| one.2.path.cmp(&other.2.path));
        let mut files = Vec::with_capacity(all.len());
        for (number, index, file) in all {
            ids[number][index] = FileId::at(files.len());
            files.push(file);
        }
        let names = Names::of(&files);
        let house = House::default();
        (
            Self {
                files,
                house,
                names,
            },
            ids,
        )
    }

    /// Takes the file at `path` out; `false` if there is none. The ids of the
    /// files behind it shift.
    pub fn remove_file(&mut self, path: &str) -> bool {
        let Some(id) = self.file_at(path) else {
            return false;
        };
        self.files.remove(id.0 as usize);
        self.names.remove(&self.files, id);
        true
    }
}
