//! Every piece of a line that carries a meaning of its own, wherever in its
//! fact it stands; what lies between them are the notation's words.

mod walk;

use smol_str::SmolStr;

use super::{Fact, Written};
use crate::Span;

/// A piece of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece<'a> {
    /// A quantity, also one without a value.
    Quantity(&'a Written),
    /// A number that counts something (`for 4 doses`).
    Count(Span),
    /// A unit alone.
    Unit(Span),
    /// A text in quotes.
    Text(Span),
    /// A date.
    Date(Span),
    /// A route.
    Route(Span),
    /// What a limit or an `expect` measures.
    Measure(Span),
    /// The name of a rule.
    Rule(Span),
    /// Any other name.
    Name(NameOf, Span, &'a SmolStr),
}

/// What a name is a name of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NameOf {
    /// A `drug`.
    Drug,
    /// An `area`.
    Area,
    /// A `pump`.
    Pump,
    /// A `giving-set`.
    GivingSet,
    /// A `solution`.
    Solution,
    /// An `order`.
    Order,
    /// What a drug may be mixed with.
    With,
    /// What it must not meet; nothing need declare that.
    NotWith,
    /// A substance that an `expect` measures.
    Substance,
    /// A substance of which a set says how much it may bring.
    Load,
    /// A substance that the line declares.
    Content,
    /// Another name of the drug.
    Also,
    /// A class of drugs.
    Class,
    /// A purpose of the house's own.
    Purpose,
    /// A set's line.
    Line,
    /// A phase that the line begins.
    Phase,
    /// A phase that is mentioned.
    PhaseMention,
}

impl Fact {
    /// Gives every piece of the line.
    pub fn each_piece<'a>(&'a self, each: impl FnMut(Piece<'a>)) {
        walk::Pieces(each).fact(self);
    }

    /// Every quantity that the line states, those without a value among them.
    #[must_use]
    pub fn quantities(&self) -> Vec<&Written> {
        let mut found = Vec::new();
        self.each_piece(|piece| {
            if let Piece::Quantity(written) = piece {
                found.push(written);
            }
        });
        found
    }
}

#[cfg(test)]
mod tests;
