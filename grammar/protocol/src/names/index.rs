//! The index: what each file declares, mentions and uses.

use std::sync::OnceLock;

use gutta_notation::StanzaKind;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;
use smol_str::SmolStr;

use super::file::{FileNames, StanzaNames, forget_in, moved};
use super::references::{Reference, Space};
use super::slips::Slips;
use super::uses::{self, Use};
use crate::source::{FileId, SourceFile, StanzaId};

/// Where drugs are named.
const DRUGS: Space = Space::Stanza(StanzaKind::Drug);

/// What each file can see. Kept by file and stanza, so that an edit touches
/// the part of the stanzas that it changed; only `use` lines tie the files
/// together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    files: Vec<FileNames>,
    /// Every declaration of the workspace, by name.
    anywhere: FxHashMap<SmolStr, SmallVec<[(Space, StanzaId); 1]>>,
    /// The names of all drugs by their slips; made when first asked for, and
    /// again once a drug's name came or went.
    slips: OnceLock<Slips>,
}

/// What changing a file's stanzas did to its names.
#[derive(Debug, Default)]
pub(crate) struct Renamed {
    /// What the stanzas were before.
    pub(crate) old: Vec<StanzaNames>,
    /// Whether who sees whom was found anew.
    pub(crate) relinked: bool,
}

impl Names {
    /// The index of all files.
    pub(crate) fn of(files: &[SourceFile]) -> Self {
        let mut names = Self {
            files: files.par_iter().map(FileNames::of).collect(),
            anywhere: FxHashMap::default(),
            slips: OnceLock::new(),
        };
        names.gather();
        names.link(files);
        names
    }

    /// The file's text changed as a whole; no file came or went.
    pub(crate) fn replace(&mut self, files: &[SourceFile], id: FileId) {
        let file = &files[id.0 as usize];
        self.forget(id);
        let mut new = FileNames::of(file);
        new.uses = uses::uses_of(files, file);
        let targets = |names: &FileNames| -> Vec<_> {
            names.uses.iter().map(|used| used.target.clone()).collect()
        };
        let old = &mut self.files[id.0 as usize];
        let same_links = old.is_read == new.is_read && targets(old) == targets(&new);
        if same_links {
            new.sees = std::mem::take(&mut old.sees);
            new.seen_by = std::mem::take(&mut old.seen_by);
        }
        *old = new;
        self.announce_file(id);
        if !same_links {
            self.link(files);
        }
    }

    /// From `first` on, as many stanzas of the file as `before` says gave way
    /// to as many new ones as `after` says; the rest moved.
    pub(crate) fn splice(
        &mut self,
        files: &[SourceFile],
        id: FileId,
        first: u32,
        before: u32,
        after: u32,
    ) -> Renamed {
        let stanzas = &files[id.0 as usize].ast.stanzas;
        let is_use =
            |names: &[StanzaNames]| names.iter().any(|names| names.kind == StanzaKind::Use);
        let new: Vec<_> = stanzas
            .iter()
            .skip(first as usize)
            .take(after as usize)
            .map(|placed| StanzaNames::of(&placed.stanza))
            .collect();
        for index in first..first + before {
            self.retract(id, index);
        }
        if before != after {
            self.shift(id, first + before, i64::from(after) - i64::from(before));
        }
        let mut relinked = is_use(&new);
        let file = &mut self.files[id.0 as usize];
        let range = first as usize..(first + before) as usize;
        let old: Vec<_> = file.stanzas.splice(range, new).collect();
        for index in first..first + after {
            self.files[id.0 as usize].index(index);
            self.announce(id, index);
        }
        relinked |= is_use(&old);
        if relinked {
            self.link(files);
        }
        Renamed { old, relinked }
    }

    /// A file came at `id`.
    pub(crate) fn insert(&mut self, files: &[SourceFile], id: FileId) {
        self.files
            .insert(id.0 as usize, FileNames::of(&files[id.0 as usize]));
        self.gather();
        self.link(files);
    }

    /// The file that was at `id` went.
    pub(crate) fn remove(&mut self, files: &[SourceFile], id: FileId) {
        self.files.remove(id.0 as usize);
        self.gather();
        self.link(files);
    }

    /// Makes `anywhere` anew.
    fn gather(&mut self) {
        self.anywhere.clear();
        self.slips = OnceLock::new();
        for index in 0..self.files.len() {
            self.announce_file(FileId::at(index));
        }
    }

    fn announce_file(&mut self, id: FileId) {
        for index in 0..self.files[id.0 as usize].stanzas.len() {
            self.announce(id, u32::try_from(index).unwrap_or(u32::MAX));
        }
    }

    /// Adds the stanza's declarations to `anywhere`, which stays in order of
    /// file and stanza.
    fn announce(&mut self, file: FileId, index: u32) {
        let id = StanzaId { file, index };
        for (name, space) in &self.files[file.0 as usize].stanzas[index as usize].declared {
            if *space == DRUGS {
                self.slips = OnceLock::new();
            }
            let held = self.anywhere.entry(name.clone()).or_default();
            let at = held.partition_point(|(_, other)| *other < id);
            held.insert(at, (*space, id));
        }
    }

    /// Takes the stanza's part out of the maps; its own entry stays.
    fn retract(&mut self, file: FileId, index: u32) {
        let id = StanzaId { file, index };
        let names = &mut self.files[file.0 as usize];
        for (name, space) in &names.stanzas[index as usize].declared {
            if *space == DRUGS {
                self.slips = OnceLock::new();
            }
            forget_in(&mut self.anywhere, name, |(_, other)| *other == id);
        }
        names.unindex(index);
    }

    /// Moves what stands at `from` and behind it.
    fn shift(&mut self, file: FileId, from: u32, by: i64) {
        let names = &mut self.files[file.0 as usize];
        for name in names.declared.keys() {
            for (_, id) in self.anywhere.get_mut(name).into_iter().flatten() {
                if id.file == file {
                    id.index = moved(id.index, from, by);
                }
            }
        }
        names.shift(from, by);
    }

    fn forget(&mut self, id: FileId) {
        self.slips = OnceLock::new();
        for name in self.files[id.0 as usize].declared.keys() {
            forget_in(&mut self.anywhere, name, |(_, other)| other.file == id);
        }
    }

    /// Finds anew what every `use` means, and who sees whom.
    fn link(&mut self, files: &[SourceFile]) {
        for (index, (names, file)) in self.files.iter_mut().zip(files).enumerate() {
            names.uses = uses::uses_of(files, file);
            names.sees = SmallVec::from_slice(&[FileId::at(index)]);
            let mut known = FxHashSet::from_iter([FileId::at(index)]);
            for target in names
                .uses
                .iter()
                .filter_map(|used| used.target.as_ref().ok())
            {
                if known.insert(*target) {
                    names.sees.push(*target);
                }
            }
            names.seen_by.clear();
        }
        for index in 0..self.files.len() {
            for seen in self.files[index].sees.clone() {
                self.files[seen.0 as usize].seen_by.push(FileId::at(index));
            }
        }
    }

    /// What `name` means in `file`, in the order of `sees`.
    pub(crate) fn seen(&self, file: FileId, space: Space, name: &str) -> SmallVec<[StanzaId; 2]> {
        let mut found = SmallVec::new();
        for &seen in self.sees(file) {
            let declared = self.files[seen.0 as usize].declared.get(name);
            for &(other, index) in declared.into_iter().flatten() {
                if other == space {
                    found.push(StanzaId { file: seen, index });
                }
            }
        }
        found
    }

    pub(crate) fn anywhere(&self, space: Space, name: &str) -> SmallVec<[StanzaId; 2]> {
        self.anywhere
            .get(name)
            .into_iter()
            .flatten()
            .filter(|(other, _)| *other == space)
            .map(|(_, id)| *id)
            .collect()
    }

    /// The names of drugs that may be a slip from this one.
    pub(crate) fn near(&self, name: &str) -> Vec<&SmolStr> {
        let slips = self.slips.get_or_init(|| {
            let drugs = self.anywhere.iter();
            let drugs = drugs.filter(|(_, held)| held.iter().any(|(space, _)| *space == DRUGS));
            Slips::of(drugs.map(|(name, _)| name.clone()))
        });
        slips.near(name)
    }

    /// Every declaration of the space in one file, in the order of its text.
    pub(crate) fn declared(
        &self,
        file: FileId,
        space: Space,
    ) -> impl Iterator<Item = (&SmolStr, StanzaId)> + '_ {
        let named = self.file(file).and_then(|names| names.by_space.get(&space));
        named.into_iter().flatten().map(move |(name, index)| {
            (
                name,
                StanzaId {
                    file,
                    index: *index,
                },
            )
        })
    }

    pub(crate) fn holds_orders(&self, file: FileId) -> bool {
        self.file(file).is_some_and(|names| names.orders > 0)
    }

    /// The mentions of a name, each with its stanza, in the order of the text.
    pub(crate) fn mentions<'a, 'n>(
        &'a self,
        file: FileId,
        name: &'n str,
    ) -> impl Iterator<Item = (StanzaId, &'a Reference)> + use<'a, 'n> {
        let names = self.file(file);
        let stanzas = names.and_then(|names| names.mentioned.get(name));
        stanzas.into_iter().flatten().flat_map(move |&index| {
            let stanza = StanzaId { file, index };
            let all = self.references(stanza).iter();
            all.filter(move |reference| reference.name == name)
                .map(move |reference| (stanza, reference))
        })
    }

    pub(crate) fn uses(&self, file: FileId) -> &[Use] {
        self.file(file).map_or(&[], |names| &names.uses)
    }

    pub(crate) fn sees(&self, file: FileId) -> &[FileId] {
        self.file(file).map_or(&[], |names| &names.sees)
    }

    pub(crate) fn seen_by(&self, file: FileId) -> &[FileId] {
        self.file(file).map_or(&[], |names| &names.seen_by)
    }

    pub(crate) fn references(&self, id: StanzaId) -> &[Reference] {
        self.stanza(id).map_or(&[], |names| &names.references)
    }

    /// What one stanza declares and mentions.
    pub(crate) fn stanza(&self, id: StanzaId) -> Option<&StanzaNames> {
        self.file(id.file)?.stanzas.get(id.index as usize)
    }

    fn file(&self, id: FileId) -> Option<&FileNames> {
        self.files.get(id.0 as usize)
    }
}
