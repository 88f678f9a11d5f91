//! What one file, and each of its stanzas, declares and mentions.

use gutta_notation::ast::Name;
use gutta_notation::{Fact, Stanza, StanzaKind};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
use smol_str::SmolStr;

use super::references::{self, Reference, Space};
use super::uses::Use;
use crate::source::{FileId, SourceFile};

/// What a stanza declares and mentions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct StanzaNames {
    pub(crate) kind: StanzaKind,
    /// Without repetition: a drug that repeats its name as `also` declares it
    /// once.
    pub(crate) declared: Box<[(SmolStr, Space)]>,
    pub(crate) references: Box<[Reference]>,
}

impl StanzaNames {
    pub(super) fn of(stanza: &Stanza) -> Self {
        let mut declared: SmallVec<[(SmolStr, Space); 4]> = SmallVec::new();
        let mut declare = |name: &SmolStr, space| {
            if !declared
                .iter()
                .any(|(other, held)| other == name && *held == space)
            {
                declared.push((name.clone(), space));
            }
        };
        if !matches!(
            stanza.kind,
            StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
        ) {
            for name in own_names(stanza) {
                declare(&name.value, Space::Stanza(stanza.kind));
            }
            for line in &stanza.lines {
                if let Fact::Contains { substance, .. } = &line.fact {
                    declare(&substance.value, Space::Substance);
                }
            }
        }
        let mut references = Vec::new();
        references::collect(stanza, &mut references);
        Self {
            kind: stanza.kind,
            declared: declared.into_vec().into(),
            references: references.into(),
        }
    }

    /// Whether it is an order, a specimen or a set.
    const fn is_order(&self) -> bool {
        matches!(
            self.kind,
            StanzaKind::Order | StanzaKind::Specimen | StanzaKind::Set
        )
    }
}

/// What a file declares, mentions and uses.
#[derive(Clone, Debug, Default)]
pub(super) struct FileNames {
    /// Whether the file was read, so that it can be used.
    pub(super) is_read: bool,
    /// How many orders, specimens and sets it holds.
    pub(super) orders: u32,
    /// Parallel to the file's stanzas.
    pub(super) stanzas: Vec<StanzaNames>,
    /// The stanzas that declare each name, in order.
    pub(super) declared: FxHashMap<SmolStr, SmallVec<[(Space, u32); 1]>>,
    /// The same by space, in the order of the text.
    pub(super) by_space: FxHashMap<Space, Vec<(SmolStr, u32)>>,
    /// The stanzas that mention each name, in order, each once.
    pub(super) mentioned: FxHashMap<SmolStr, SmallVec<[u32; 2]>>,
    pub(super) uses: Vec<Use>,
    /// Itself, then what it uses.
    pub(super) sees: SmallVec<[FileId; 4]>,
    /// In order of files, itself among them.
    pub(super) seen_by: SmallVec<[FileId; 4]>,
}

impl FileNames {
    /// All but the `use` lines, which need the other files' paths.
    pub(super) fn of(file: &SourceFile) -> Self {
        let mut names = Self {
            is_read: file.is_read(),
            stanzas: file
                .ast
                .stanzas
                .iter()
                .map(|placed| StanzaNames::of(&placed.stanza))
                .collect(),
            ..Self::default()
        };
        for index in 0..names.stanzas.len() {
            names.index(u32::try_from(index).unwrap_or(u32::MAX));
        }
        names
    }

    /// Adds the stanza to the maps, each of which stays in order.
    pub(super) fn index(&mut self, index: u32) {
        let names = &self.stanzas[index as usize];
        self.orders += u32::from(names.is_order());
        for (name, space) in &names.declared {
            let declared = self.declared.entry(name.clone()).or_default();
            let at = declared.partition_point(|(_, other)| *other <= index);
            declared.insert(at, (*space, index));
            let named = self.by_space.entry(*space).or_default();
            let at = named.partition_point(|(_, other)| *other <= index);
            named.insert(at, (name.clone(), index));
        }
        for reference in &names.references {
            let mentioned = self.mentioned.entry(reference.name.clone()).or_default();
            let at = mentioned.partition_point(|other| *other < index);
            if mentioned.get(at) != Some(&index) {
                mentioned.insert(at, index);
            }
        }
    }

    /// Takes the stanza out of the maps; its own entry stays.
    pub(super) fn unindex(&mut self, index: u32) {
        let names = &self.stanzas[index as usize];
        self.orders -= u32::from(names.is_order());
        for (name, space) in &names.declared {
            forget_in(&mut self.declared, name, |(_, other)| *other == index);
            if let Some(named) = self.by_space.get_mut(space) {
                let start = named.partition_point(|(_, other)| *other < index);
                let end = named.partition_point(|(_, other)| *other <= index);
                named.drain(start..end);
            }
        }
        for reference in &names.references {
            if let Some(mentioned) = self.mentioned.get_mut(&reference.name) {
                if let Ok(at) = mentioned.binary_search(&index) {
                    mentioned.remove(at);
                }
                if mentioned.is_empty() {
                    self.mentioned.remove(&reference.name);
                }
            }
        }
    }

    /// Moves what stands at `from` and behind it.
    pub(super) fn shift(&mut self, from: u32, by: i64) {
        for (_, index) in self.declared.values_mut().flatten() {
            *index = moved(*index, from, by);
        }
        for (_, index) in self.by_space.values_mut().flatten() {
            *index = moved(*index, from, by);
        }
        for index in self.mentioned.values_mut().flatten() {
            *index = moved(*index, from, by);
        }
        for used in &mut self.uses {
            used.stanza = moved(used.stanza, from, by);
        }
    }
}

/// The names by which a stanza is called: its own, and a drug's `also`.
pub(crate) fn own_names(stanza: &Stanza) -> impl Iterator<Item = &Name> {
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

/// The index at which a stanza stands after those from `from` on moved.
pub(super) fn moved(index: u32, from: u32, by: i64) -> u32 {
    if index < from {
        return index;
    }
    u32::try_from(i64::from(index) + by).unwrap_or(u32::MAX)
}

/// Takes what matches out of a name's list, and the name with the last.
pub(super) fn forget_in<T: smallvec::Array>(
    map: &mut FxHashMap<SmolStr, SmallVec<T>>,
    name: &SmolStr,
    gone: impl Fn(&T::Item) -> bool,
) {
    if let Some(held) = map.get_mut(name) {
        held.retain(|item| !gone(item));
        if held.is_empty() {
            map.remove(name);
        }
    }
}
