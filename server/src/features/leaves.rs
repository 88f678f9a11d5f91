//! The pieces of a line that carry a meaning of their own, and where each
//! stands; what lies between them are the notation's words.

use gutta_notation::ast::{NameOf, Piece};
use gutta_notation::{Line, Span};

/// A piece. Names that are resolved among stanzas are not among them: the
/// workspace knows these (`Workspace::references`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Leaf {
    /// A number with its unit.
    Quantity,
    /// A unit alone.
    Unit,
    Text,
    Date,
    Route,
    Measure,
    /// The name of a rule.
    Rule,
    /// A name that the line declares.
    Substance,
    Also,
    /// A class of drugs.
    Class,
    Line,
    Phase,
    /// A phase that is mentioned.
    PhaseMention,
    Purpose,
}

/// Every piece of the line, in no order; spans count as the line's do.
pub(crate) fn leaves(line: &Line) -> Vec<(Span, Leaf)> {
    let mut found = Vec::new();
    line.fact.each_piece(|piece| {
        let leaf = leaf(piece).filter(|(span, _)| !span.is_empty());
        found.extend(leaf);
    });
    found
}

fn leaf(piece: Piece<'_>) -> Option<(Span, Leaf)> {
    Some(match piece {
        Piece::Quantity(written) => (written.span, Leaf::Quantity),
        Piece::Count(span) => (span, Leaf::Quantity),
        Piece::Unit(span) => (span, Leaf::Unit),
        Piece::Text(span) => (span, Leaf::Text),
        Piece::Date(span) => (span, Leaf::Date),
        Piece::Route(span) => (span, Leaf::Route),
        Piece::Measure(span) => (span, Leaf::Measure),
        Piece::Rule(span) => (span, Leaf::Rule),
        Piece::Name(of, span, _) => (span, of_name(of)?),
    })
}

fn of_name(of: NameOf) -> Option<Leaf> {
    Some(match of {
        NameOf::Content => Leaf::Substance,
        NameOf::Also => Leaf::Also,
        NameOf::Class => Leaf::Class,
        NameOf::Purpose => Leaf::Purpose,
        NameOf::Line => Leaf::Line,
        NameOf::Phase => Leaf::Phase,
        NameOf::PhaseMention => Leaf::PhaseMention,
        NameOf::Drug
        | NameOf::Area
        | NameOf::Pump
        | NameOf::GivingSet
        | NameOf::Solution
        | NameOf::Order
        | NameOf::With
        | NameOf::NotWith
        | NameOf::Substance
        | NameOf::Load => return None,
    })
}
