//! Making a workspace, and changing one file of it.

use rayon::prelude::*;
use smol_str::SmolStr;

use super::read::{Content, read_file};
use super::{FileId, Workspace};
use crate::House;
use crate::names::Names;

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
    /// Only this file is read again. Adding one shifts the ids of the files
    /// behind it.
    pub fn replace_file(&mut self, path: &str, content: impl Into<Content>) -> FileId {
        let file = read_file(path.into(), content.into(), self.house.style);
        match self
            .files
            .binary_search_by(|held| held.path.as_str().cmp(path))
        {
            Ok(index) => {
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
