//! The stanzas of the notation and the keywords that start them.

/// The kinds of stanza.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StanzaKind {
    /// What stands above the first stanza: comments and blank lines, or lines
    /// that belong to nothing.
    Preamble,
    /// A first-column word that is no stanza keyword; its lines belong to
    /// nothing.
    Unknown,
    /// `use`.
    Use,
    /// `pump`.
    Pump,
    /// `giving-set`.
    GivingSet,
    /// `area`.
    Area,
    /// `solution`.
    Solution,
    /// `ingredient`: a substance that drugs and solutions contain.
    Ingredient,
    /// `drug`.
    Drug,
    /// `order`.
    Order,
    /// `specimen`: an order that must be caught.
    Specimen,
    /// `set`.
    Set,
}

/// A keyword that starts a stanza.
#[derive(Clone, Copy, Debug)]
pub struct StanzaWord {
    /// The keyword.
    pub word: &'static str,
    /// The stanza it starts.
    pub kind: StanzaKind,
}

/// The keywords that start a stanza, in the notation's order.
pub const STANZAS: [StanzaWord; 10] = [
    stanza("use", StanzaKind::Use),
    stanza("pump", StanzaKind::Pump),
    stanza("giving-set", StanzaKind::GivingSet),
    stanza("area", StanzaKind::Area),
    stanza("solution", StanzaKind::Solution),
    stanza("ingredient", StanzaKind::Ingredient),
    stanza("drug", StanzaKind::Drug),
    stanza("order", StanzaKind::Order),
    stanza("specimen", StanzaKind::Specimen),
    stanza("set", StanzaKind::Set),
];

const fn stanza(word: &'static str, kind: StanzaKind) -> StanzaWord {
    StanzaWord { word, kind }
}

/// `a, b or c`.
pub(crate) fn one_of(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// The stanza that the word starts, if it is written as the notation has it.
#[must_use]
pub fn stanza_kind(word: &str) -> Option<StanzaKind> {
    STANZAS
        .iter()
        .find(|stanza| stanza.word == word)
        .map(|stanza| stanza.kind)
}
