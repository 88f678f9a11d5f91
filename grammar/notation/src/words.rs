//! The notation's own words: what the dispatcher reads, completion offers and
//! the editors' syntax files colour.

pub use crate::stanzas::{STANZAS, StanzaWord, stanza_kind};

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
