//! Which stanza a name means, seen from a file.

mod called;
mod file;
mod index;
mod nearest;
mod references;
mod slips;
mod uses;

pub use nearest::nearest;
pub use references::{Reference, Space};
pub use uses::{Use, UseFault, join_path, relative_path};

pub(crate) use file::StanzaNames;
pub(crate) use index::Names;

use gutta_notation::ast::Name;
use gutta_notation::{RISKY_NAMES, StanzaKind};
use rustc_hash::FxHashSet;
use smallvec::SmallVec;
use smol_str::SmolStr;

use crate::Workspace;
use crate::trace::{self, Asked};
use crate::workspace::{FileId, StanzaId};

/// What a name means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Resolved {
    /// One stanza.
    One(StanzaId),
    /// Several of one kind and name (`name.twice`): the first is not
    /// preferred, since either may be the one that was meant.
    Many(Vec<StanzaId>),
    /// None in scope.
    None,
}

impl Resolved {
    fn from_ids(ids: SmallVec<[StanzaId; 2]>) -> Self {
        match ids.as_slice() {
            [] => Self::None,
            [one] => Self::One(*one),
            _ => Self::Many(ids.into_vec()),
        }
    }

    /// The stanza, where exactly one is meant.
    #[must_use]
    pub fn one(&self) -> Option<StanzaId> {
        match self {
            Self::One(id) => Some(*id),
            Self::Many(_) | Self::None => None,
        }
    }
}

impl Workspace {
    /// The stanza of `kind` that `name` means in `file`: the file's own, and
    /// those of the files it uses (`use` is not transitive). A drug is also
    /// found by its `also` names and, where nothing bears it, by a short form
    /// that safe-writing lists warn of (a mark says so).
    #[must_use]
    pub fn resolve(&self, file: FileId, kind: StanzaKind, name: &str) -> Resolved {
        Resolved::from_ids(self.seen(file, Space::Stanza(kind), name))
    }

    fn seen(&self, file: FileId, space: Space, name: &str) -> SmallVec<[StanzaId; 2]> {
        trace::note(|| Asked::Name(name.into()));
        let found = self.names.seen(file, space, name);
        if !found.is_empty() || space != Space::Stanza(StanzaKind::Drug) {
            return found;
        }
        let full = RISKY_NAMES.iter().find(|(short, _)| *short == name);
        full.map_or(found, |(_, full)| {
            trace::note(|| Asked::Name(SmolStr::new_static(full)));
            self.names.seen(file, space, full)
        })
    }

    /// The stanza that a house default (`pump`, `area`, `giving-set` in
    /// `gutta.toml`) means in `file`: what the file sees by that name, else
    /// what the workspace declares by it anywhere, since a default binds
    /// files that name nothing.
    #[must_use]
    pub fn resolve_default(&self, file: FileId, kind: StanzaKind, name: &str) -> Resolved {
        match self.resolve(file, kind, name) {
            // `resolve` has noted the name.
            Resolved::None => Resolved::from_ids(self.names.anywhere(Space::Stanza(kind), name)),
            seen => seen,
        }
    }

    /// The `ingredient` stanzas that limit a substance. They hold in the whole
    /// workspace, since no order names them, and all of them where there are
    /// several (`name.twice`): nobody can tell which was meant.
    #[must_use]
    pub fn ingredients(&self, substance: &str) -> Vec<StanzaId> {
        self.declared_anywhere(Space::Stanza(StanzaKind::Ingredient), substance)
    }

    /// The stanzas in sight of `file` whose `contains` lines declare the
    /// substance.
    #[must_use]
    pub fn containing(&self, file: FileId, substance: &str) -> Vec<StanzaId> {
        self.seen(file, Space::Substance, substance).into_vec()
    }

    /// Everything in the whole workspace that declares the name, seen or not.
    #[must_use]
    pub fn declared_anywhere(&self, space: Space, name: &str) -> Vec<StanzaId> {
        trace::note(|| Asked::Name(name.into()));
        self.names.anywhere(space, name).into_vec()
    }

    /// Every `use` of the file, in the order of its text.
    #[must_use]
    pub fn uses(&self, file: FileId) -> &[Use] {
        self.names.uses(file)
    }

    /// The files, by path from the root, that a `use` names and that are not
    /// held.
    #[must_use]
    pub fn missing(&self) -> FxHashSet<SmolStr> {
        let all = self.file_ids().flat_map(|file| self.uses(file));
        let missing = all.filter_map(|used| match &used.target {
            Err(UseFault::Missing { path }) => Some(path.clone()),
            _ => None,
        });
        missing.collect()
    }

    /// The files whose names `file` sees: itself first, then those it uses.
    #[must_use]
    pub fn sees(&self, file: FileId) -> &[FileId] {
        self.names.sees(file)
    }

    /// The files that see the names of `file`: itself among them, in order.
    #[must_use]
    pub fn seen_by(&self, file: FileId) -> &[FileId] {
        self.names.seen_by(file)
    }

    /// Every name that the stanza mentions, in the order of its text.
    #[must_use]
    pub fn references(&self, id: StanzaId) -> &[Reference] {
        self.names.references(id)
    }

    /// What a reference in `file` means. Where it may be of several spaces,
    /// all of them count.
    #[must_use]
    pub fn resolve_reference(&self, file: FileId, reference: &Reference) -> Resolved {
        let mut ids = SmallVec::new();
        for space in reference.spaces {
            for id in self.seen(file, *space, &reference.name) {
                if !ids.contains(&id) {
                    ids.push(id);
                }
            }
        }
        Resolved::from_ids(ids)
    }

    /// The names by which a stanza is called: its own, and a drug's `also`.
    pub fn own_names(&self, id: StanzaId) -> impl Iterator<Item = &Name> {
        index::own_names(self.stanza(id))
    }

    /// Every mention of the stanza, by any of its names, in the files that
    /// see it: the mentioning stanza, and the reference in it.
    #[must_use]
    pub fn referrers(&self, id: StanzaId) -> Vec<(StanzaId, &Reference)> {
        self.referrers_in(self.seen_by(id.file), id)
    }

    /// The same in these files alone.
    #[must_use]
    pub fn referrers_in(&self, files: &[FileId], id: StanzaId) -> Vec<(StanzaId, &Reference)> {
        let space = Space::Stanza(self.stanza(id).kind);
        let mut names = self
            .own_names(id)
            .map(|name| name.value.clone())
            .collect::<Vec<_>>();
        let short = RISKY_NAMES
            .iter()
            .filter(|(_, full)| names.iter().any(|name| name == full))
            .map(|(short, _)| SmolStr::new_static(short));
        names.extend(short.collect::<Vec<_>>());
        let mut found = self.mentions(files, space, &names);
        found.retain(|(stanza, reference)| {
            let meant = self.seen(stanza.file, space, &reference.name);
            meant.contains(&id)
        });
        found
    }

    /// Every mention of a substance in the files that see `file`.
    #[must_use]
    pub fn substance_referrers(
        &self,
        file: FileId,
        substance: &SmolStr,
    ) -> Vec<(StanzaId, &Reference)> {
        self.substance_referrers_in(self.seen_by(file), substance)
    }

    /// Every mention of a substance in these files.
    #[must_use]
    pub fn substance_referrers_in(
        &self,
        files: &[FileId],
        substance: &SmolStr,
    ) -> Vec<(StanzaId, &Reference)> {
        self.mentions(files, Space::Substance, std::slice::from_ref(substance))
    }

    fn mentions(
        &self,
        files: &[FileId],
        space: Space,
        names: &[SmolStr],
    ) -> Vec<(StanzaId, &Reference)> {
        let mut found = Vec::new();
        for name in names {
            trace::note(|| Asked::Mentions(name.clone()));
            for &file in files {
                // The name's own lifetime ends here, so the index's is taken.
                found.extend(
                    self.names
                        .mentions(file, name)
                        .filter(|(_, reference)| reference.spaces.contains(&space)),
                );
            }
        }
        found.sort_by_key(|(stanza, reference)| (*stanza, reference.span));
        found
    }

    /// Every name of the space that `file` sees, with what it means, sorted.
    #[must_use]
    pub fn names_in_sight(&self, file: FileId, space: Space) -> Vec<(SmolStr, StanzaId)> {
        let names = self.each_in_sight(file, space);
        let mut names: Vec<_> = names.map(|(name, id)| (name.clone(), id)).collect();
        names.sort_unstable();
        names
    }

    /// The same without a copy: by file, and in each in the order of its text.
    pub fn each_in_sight(
        &self,
        file: FileId,
        space: Space,
    ) -> impl Iterator<Item = (&SmolStr, StanzaId)> + '_ {
        trace::note(|| Asked::Sight(space));
        self.sees(file)
            .iter()
            .flat_map(move |seen| self.names.declared(*seen, space))
    }

    /// Every drug of the workspace whose name may be one slip of a key away
    /// from `name` (and some that are not), with the name; in no order.
    pub fn drugs_near(&self, name: &str) -> impl Iterator<Item = (&SmolStr, StanzaId)> + '_ {
        let space = Space::Stanza(StanzaKind::Drug);
        trace::note(|| Asked::Sight(space));
        let near = self.names.near(name).into_iter();
        near.flat_map(move |name| {
            let ids = self.names.anywhere(space, name);
            ids.into_iter().map(move |id| (name, id))
        })
    }

    /// Whether some file sees both of these.
    #[must_use]
    pub fn are_seen_together(&self, one: FileId, other: FileId) -> bool {
        let (one, other) = (self.seen_by(one), self.seen_by(other));
        let (few, many) = if one.len() < other.len() {
            (one, other)
        } else {
            (other, one)
        };
        few.iter().any(|file| many.binary_search(file).is_ok())
    }

    /// Whether the file holds an order, a specimen or a set, and not only what
    /// others lean on.
    #[must_use]
    pub fn holds_orders(&self, file: FileId) -> bool {
        self.names.holds_orders(file)
    }
}
