//! The notation's own words: what the dispatcher reads, completion offers and
//! the editors' syntax files colour.

use crate::StanzaKind;

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

/// The words of the notation that neither a unit nor a name can be.
pub const OWN: &[&str] = &[
    "any", "all", "to", "of", "at", "over", "by", "in", "for", "with", "as", "after", "from",
    "and", "or",
];

/// Further words that a line may go on with behind a name. They are read as
/// names where nothing else can stand, and are better not chosen for one.
pub const AFTER_NAMES: &[&str] = &[
    "above",
    "added",
    "age",
    "aged",
    "because",
    "below",
    "climbing",
    "counted",
    "down",
    "each",
    "every",
    "except",
    "finding",
    "keep",
    "made",
    "not",
    "per",
    "renew",
    "stop",
    "surface",
    "then",
    "undiluted",
    "until",
    "up",
    "weight",
];

/// What is counted in `every 8 h for 3 doses`.
pub const DOSES: [&str; 2] = ["doses", "dose"];

/// Measures that an `expect` may name.
pub const EXPECT_MEASURES: &[(&str, crate::ast::ExpectMeasure)] = {
    use crate::ast::ExpectMeasure as M;
    &[
        ("flow", M::Flow),
        ("pump flow", M::PumpFlow),
        ("strength", M::Strength),
        ("true strength", M::TrueStrength),
        ("drops", M::Drops),
        ("time", M::Time),
        ("dose", M::Dose),
        ("bolus", M::Bolus),
        ("bolus time", M::BolusTime),
        ("draw", M::Draw),
        ("total", M::Total),
        ("volume", M::Volume),
        ("fluid", M::Fluid),
    ]
};

/// The stanza that the word starts, if it is written as the notation has it.
#[must_use]
pub fn stanza_kind(word: &str) -> Option<StanzaKind> {
    STANZAS
        .iter()
        .find(|stanza| stanza.word == word)
        .map(|stanza| stanza.kind)
}
