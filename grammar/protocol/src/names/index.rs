//! The index: what each file declares, mentions and uses.

use gutta_notation::ast::Name;
use gutta_notation::{Fact, Stanza, StanzaKind};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
use smol_str::SmolStr;

use super::references::{self, Reference, Space};
use super::uses::{self, Use};
use crate::workspace::{FileId, SourceFile, StanzaId};

/// What each file can see. Kept by file, so that an edit touches one file's
/// part; only `use` lines tie the parts together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    files: Vec<FileNames>,
    /// Every declaration of the workspace, by name.
    anywhere: FxHashMap<SmolStr, SmallVec<[(Space, StanzaId); 1]>>,
}

#[derive(Clone, Debug, Default)]
struct FileNames {
    /// Whether the file was read, so that it can be used.
    is_read: bool,
    /// Whether it holds an order, a specimen or a set.
    holds_orders: bool,
    declared: FxHashMap<SmolStr, SmallVec<[(Space, u32); 1]>>,
    /// The same by space, in the order of the text.
    by_space: FxHashMap<Space, Vec<(SmolStr, u32)>>,
    references: Vec<Reference>,
    /// The places in `references` of each name.
    mentioned: FxHashMap<SmolStr, SmallVec<[u32; 2]>>,
    uses: Vec<Use>,
    /// Itself, then what it uses.
    sees: SmallVec<[FileId; 4]>,
    /// In order of files, itself among them.
    seen_by: SmallVec<[FileId; 4]>,
}

/// The names by which a stanza is called: its own, and a drug's `also`.
pub(super) fn own_names(stanza: &Stanza) -> impl Iterator<Item = &Name> {
    let also = stanza
        .lines
        .iter()
        .filter_map(move |line| match &line.fact {
            Fact::Also(names) if stanza.kind == StanzaKind::Drug => Some(names.iter()),
            _ => None,
        })
        .flatten();
    stanza.name.iter().chain(also)
}

impl FileNames {
    /// All but the `use` lines, which need the other files' paths.
    fn of(file: &SourceFile) -> Self {
        let mut names = Self {
            is_read: file.is_read(),
            ..Self::default()
        };
        for (index, placed) in file.ast.stanzas.iter().enumerate() {
            let index = u32::try_from(index).unwrap_or(u32::MAX);
            let stanza = &*placed.stanza;
            names.holds_orders |= matches!(
                stanza.kind,
                StanzaKind::Order | StanzaKind::Specimen | StanzaKind::Set
            );
            if !matches!(
                stanza.kind,
                StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
            ) {
                for name in own_names(stanza) {
                    names.declare(&name.value, Space::Stanza(stanza.kind), index);
                }
                for line in &stanza.lines {
                    if let Fact::Contains { substance, .. } = &line.fact {
                        names.declare(&substance.value, Space::Substance, index);
                    }
                }
            }
            references::collect(stanza, index, &mut names.references);
        }
        for (index, reference) in names.references.iter().enumerate() {
            names
                .mentioned
                .entry(reference.name.clone())
                .or_default()
                .push(u32::try_from(index).unwrap_or(u32::MAX));
        }
        names
    }

    fn declare(&mut self, name: &SmolStr, space: Space, stanza: u32) {
        let declared = self.declared.entry(name.clone()).or_default();
        // A drug that repeats its name as `also` declares it once.
        if !declared.contains(&(space, stanza)) {
            declared.push((space, stanza));
            let named = self.by_space.entry(space).or_default();
            named.push((name.clone(), stanza));
        }
    }
}

impl Names {
    /// The index of all files.
    pub(crate) fn of(files: &[SourceFile]) -> Self {
        let mut names = Self {
            files: files.par_iter().map(FileNames::of).collect(),
            anywhere: FxHashMap::default(),
        };
        names.gather();
        names.link(files);
        names
    }

    /// The file's text changed; no file came or went.
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
        self.announce(id);
        if !same_links {
            self.link(files);
        }
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
        for index in 0..self.files.len() {
            self.announce(FileId::at(index));
        }
    }

    /// Adds the file's declarations to `anywhere`, which stays in order of
    /// file and stanza.
    fn announce(&mut self, id: FileId) {
        for (name, declared) in &self.files[id.0 as usize].declared {
            let held = self.anywhere.entry(name.clone()).or_default();
            let at = held.partition_point(|(_, other)| other.file < id);
            held.insert_many(
                at,
                declared
                    .iter()
                    .map(|&(space, index)| (space, StanzaId { file: id, index })),
            );
        }
    }

    fn forget(&mut self, id: FileId) {
        for name in self.files[id.0 as usize].declared.keys() {
            if let Some(held) = self.anywhere.get_mut(name) {
                held.retain(|(_, stanza)| stanza.file != id);
                if held.is_empty() {
                    self.anywhere.remove(name);
                }
            }
        }
    }

    /// Finds anew what every `use` means, and who sees whom.
    fn link(&mut self, files: &[SourceFile]) {
        for (index, (names, file)) in self.files.iter_mut().zip(files).enumerate() {
            names.uses = uses::uses_of(files, file);
            names.sees = SmallVec::from_slice(&[FileId::at(index)]);
            for target in names
                .uses
                .iter()
                .filter_map(|used| used.target.as_ref().ok())
            {
                if !names.sees.contains(target) {
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
    pub(super) fn seen(&self, file: FileId, space: Space, name: &str) -> SmallVec<[StanzaId; 2]> {
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

    pub(super) fn anywhere(&self, space: Space, name: &str) -> SmallVec<[StanzaId; 2]> {
        self.anywhere
            .get(name)
            .into_iter()
            .flatten()
            .filter(|(other, _)| *other == space)
            .map(|(_, id)| *id)
            .collect()
    }

    /// Every declaration of the space in one file, in the order of its text.
    pub(super) fn declared(
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

    pub(super) fn holds_orders(&self, file: FileId) -> bool {
        self.file(file).is_some_and(|names| names.holds_orders)
    }

    pub(super) fn mentions(
        &self,
        file: FileId,
        name: &str,
    ) -> impl Iterator<Item = &Reference> + '_ {
        let names = self.file(file);
        names
            .and_then(|names| names.mentioned.get(name))
            .into_iter()
            .flatten()
            .filter_map(move |&index| names?.references.get(index as usize))
    }

    pub(super) fn uses(&self, file: FileId) -> &[Use] {
        self.file(file).map_or(&[], |names| &names.uses)
    }

    pub(super) fn sees(&self, file: FileId) -> &[FileId] {
        self.file(file).map_or(&[], |names| &names.sees)
    }

    pub(super) fn seen_by(&self, file: FileId) -> &[FileId] {
        self.file(file).map_or(&[], |names| &names.seen_by)
    }

    pub(super) fn references(&self, file: FileId) -> &[Reference] {
        self.file(file).map_or(&[], |names| &names.references)
    }

    fn file(&self, id: FileId) -> Option<&FileNames> {
        self.files.get(id.0 as usize)
    }
}
