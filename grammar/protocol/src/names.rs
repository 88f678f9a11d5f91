//! Which stanza a name means, seen from a file.

use gutta_notation::StanzaKind;

use crate::workspace::{FileId, StanzaId};

/// What each file can see.
#[derive(Clone, Debug, Default)]
pub struct Names {}

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

impl crate::Workspace {
    /// The stanza of `kind` that `name` means in `file`: the file's own, and
    /// those of the files it uses (`use` is not transitive). A drug is also
    /// found by its `also` names.
    #[must_use]
    pub fn resolve(&self, file: FileId, kind: StanzaKind, name: &str) -> Resolved {
        let _ = (file, kind, name, &self.names);
        Resolved::None
    }
}
