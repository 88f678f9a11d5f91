//! Every name that a stanza mentions, and what it must be a name of.

use gutta_notation::ast::{NameOf, Piece};
use gutta_notation::{Span, Stanza, StanzaKind};
use smol_str::SmolStr;

/// What a name is a name of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Space {
    /// A stanza of this kind.
    Stanza(StanzaKind),
    /// A substance that a `contains` line declares.
    Substance,
}

/// A name mentioned in a stanza.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reference {
    /// The name's place, from the stanza's start.
    pub span: Span,
    /// The name.
    pub name: SmolStr,
    /// What it may be a name of; any of these.
    pub spaces: &'static [Space],
    /// Whether something must declare it: `not with` may name what nothing
    /// declares.
    pub required: bool,
}

const DRUG: &[Space] = &[Space::Stanza(StanzaKind::Drug)];
const AREA: &[Space] = &[Space::Stanza(StanzaKind::Area)];
const PUMP: &[Space] = &[Space::Stanza(StanzaKind::Pump)];
const GIVING_SET: &[Space] = &[Space::Stanza(StanzaKind::GivingSet)];
const SOLUTION: &[Space] = &[Space::Stanza(StanzaKind::Solution)];
const ORDER: &[Space] = &[Space::Stanza(StanzaKind::Order)];
const SUBSTANCE: &[Space] = &[Space::Substance];
const MIXABLE: &[Space] = &[
    Space::Stanza(StanzaKind::Solution),
    Space::Stanza(StanzaKind::Drug),
];

/// A set's own keyword that needs no `contains` (ruling 39).
const GLUCOSE: &str = "glucose";

/// Adds every name that the stanza mentions.
pub(super) fn collect(stanza: &Stanza, out: &mut Vec<Reference>) {
    for line in &stanza.lines {
        line.fact.each_piece(|piece| {
            if let Piece::Name(of, span, name) = piece
                && let Some((spaces, required)) = meant(of, name)
            {
                out.push(Reference {
                    span,
                    name: name.clone(),
                    spaces,
                    required,
                });
            }
        });
    }
}

/// What a name must be a name of, and whether something must declare it;
/// `None` for what the stanza itself declares, or nothing does.
fn meant(of: NameOf, name: &str) -> Option<(&'static [Space], bool)> {
    Some(match of {
        NameOf::Drug => (DRUG, true),
        NameOf::Area => (AREA, true),
        NameOf::Pump => (PUMP, true),
        NameOf::GivingSet => (GIVING_SET, true),
        NameOf::Solution => (SOLUTION, true),
        NameOf::Order => (ORDER, true),
        NameOf::With => (MIXABLE, true),
        NameOf::NotWith => (MIXABLE, false),
        NameOf::Substance => (SUBSTANCE, true),
        NameOf::Load => (SUBSTANCE, name != GLUCOSE),
        NameOf::Content
        | NameOf::Also
        | NameOf::Class
        | NameOf::Purpose
        | NameOf::Line
        | NameOf::Phase
        | NameOf::PhaseMention => return None,
    })
}
