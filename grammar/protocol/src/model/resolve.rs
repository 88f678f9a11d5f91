//! Names in an order, turned into what they mean.

use std::sync::Arc;

use gutta_notation::StanzaKind;
use gutta_notation::ast::Name;
use smol_str::SmolStr;

use super::drug::Drug;
use super::library::Library;
use super::lower::Lowering;
use super::order::Named;
use super::problem::ProblemKind;
use super::reference::{Area, GivingSet, Pump, Solution};
use crate::{FileId, Resolved, StanzaId, Workspace};

/// Finds what the names of one order mean.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Resolver<'a> {
    pub(crate) workspace: &'a Workspace,
    pub(crate) library: &'a Library,
    pub(crate) file: FileId,
}

/// A kind of reference stanza.
pub(crate) trait Reference: Sized {
    const KIND: StanzaKind;
    const WORD: &'static str;
    fn find(library: &Library, id: StanzaId) -> Option<&Arc<Self>>;
    fn is_whole(&self) -> bool;
}

macro_rules! reference {
    ($type:ident, $kind:ident, $word:literal, $find:ident) => {
        impl Reference for $type {
            const KIND: StanzaKind = StanzaKind::$kind;
            const WORD: &'static str = $word;
            fn find(library: &Library, id: StanzaId) -> Option<&Arc<Self>> {
                library.$find(id)
            }
            fn is_whole(&self) -> bool {
                self.whole
            }
        }
    };
}
reference!(Drug, Drug, "drug", drug);
reference!(Area, Area, "area", area);
reference!(Pump, Pump, "pump", pump);
reference!(GivingSet, GivingSet, "giving set", giving_set);
reference!(Solution, Solution, "solution", solution);

impl Resolver<'_> {
    /// What a name of the order means; a problem where it means nothing, or
    /// several things, or something that was not read whole.
    pub(crate) fn named<T: Reference>(
        &self,
        lowering: &mut Lowering,
        name: &Name,
    ) -> Option<Named<T>> {
        let found = self.find::<T>(&name.value);
        match &found {
            Some(named) if named.value.is_whole() => {}
            Some(_) => {
                lowering.problem(
                    name.span,
                    ProblemKind::LeansOn {
                        kind: T::WORD,
                        name: name.value.clone(),
                    },
                );
            }
            None => {
                lowering.problem(
                    name.span,
                    ProblemKind::Unresolved {
                        kind: T::WORD,
                        name: name.value.clone(),
                    },
                );
            }
        }
        Some(Named {
            span: Some(name.span),
            ..found?
        })
    }

    /// What a name that stands outside the order means, seen from `file`: the
    /// area's pump, the house's area. The finding for an unknown one stands
    /// there; here it is a problem of the order at `place`.
    pub(crate) fn named_elsewhere<T: Reference>(
        &self,
        lowering: &mut Lowering,
        file: FileId,
        name: &SmolStr,
        place: gutta_notation::Span,
    ) -> Option<Named<T>> {
        let named = self.one::<T>(self.workspace.resolve_default(file, T::KIND, name), name);
        if !named.as_ref().is_some_and(|named| named.value.is_whole()) {
            lowering.problem(
                place,
                ProblemKind::LeansOn {
                    kind: T::WORD,
                    name: name.clone(),
                },
            );
        }
        named
    }

    fn find<T: Reference>(&self, name: &SmolStr) -> Option<Named<T>> {
        self.one(self.workspace.resolve(self.file, T::KIND, name), name)
    }

    fn one<T: Reference>(&self, resolved: Resolved, name: &SmolStr) -> Option<Named<T>> {
        let id = resolved.one()?;
        let value = Arc::clone(T::find(self.library, id)?);
        Some(Named {
            name: name.clone(),
            span: None,
            id,
            value,
        })
    }
}
