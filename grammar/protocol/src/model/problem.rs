//! What keeps a stanza that was read from meaning anything.

use gutta_notation::Span;
use smol_str::SmolStr;

use super::size::DrugKind;

/// One thing that stands in the way, and where in the stanza.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub kind: ProblemKind,
}

/// What stands in the way of a meaning. Each kind belongs to one rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProblemKind {
    /// `unit.wrong-kind`: a quantity of one kind where others belong.
    WrongKind {
        /// The kind found (`a mass`).
        found: String,
        /// The kinds that fit (`a flow, a dose or a drip`).
        wanted: &'static str,
    },
    /// `unit.needs-weight`: per kg, and no patient weight.
    NeedsWeight,
    /// `unit.needs-weight`: per m2, and no patient surface.
    NeedsSurface,
    /// `unit.needs-strength`: an amount of drug, and nothing says how much is
    /// in the bag.
    NeedsStrength,
    /// `unit.needs-drops`: drops, and no giving set.
    NeedsDrops,
    /// `unit.no-equivalence`: two countings of a drug that nothing ties.
    NoEquivalence {
        /// What was written.
        from: DrugKind,
        /// What it must be brought to.
        to: DrugKind,
    },
    /// `limit.not-of-substance`: a limit that a substance cannot be held to.
    NotOfSubstance {
        /// What it limits, as a phrase.
        what: &'static str,
    },
    /// `volume.missing`: a run that does not say how much.
    VolumeMissing,
    /// `name.unknown` or `name.twice`: the name means no stanza, or several.
    Unresolved {
        /// What kind of thing it should name.
        kind: &'static str,
        /// The name.
        name: SmolStr,
    },
    /// A line of the stanza could not be read.
    Unread,
    /// `text.twice`: a line says a second time what may be said once.
    Twice,
    /// A stanza that this one leans on cannot be taken at its word.
    LeansOn {
        /// What kind of thing it is.
        kind: &'static str,
        /// Its name.
        name: SmolStr,
    },
    /// A line is missing without which nothing can be derived.
    Missing {
        /// What is missing, as a phrase.
        what: &'static str,
    },
    /// Nothing can be computed: a division by what may be zero.
    NotComputable {
        /// What it is that has no value.
        what: &'static str,
    },
}

impl ProblemKind {
    /// What stands in the way, as part of a sentence; `line` is its line's
    /// number in the file.
    #[must_use]
    pub fn told(&self, line: usize) -> String {
        match self {
            Self::Unread => format!("line {line} could not be read"),
            Self::Twice => format!("line {line} repeats a line that is allowed only once"),
            Self::Unresolved { kind, name } => format!("the {kind} `{name}` is not known"),
            Self::WrongKind { .. } => format!("a quantity on line {line} is of the wrong kind"),
            Self::NeedsWeight => format!("line {line} needs the patient's weight"),
            Self::NeedsSurface => format!("line {line} needs the patient's body surface area"),
            Self::NeedsStrength => format!("line {line} needs a drug in the bag"),
            Self::NeedsDrops => format!("line {line} needs a giving set"),
            Self::NoEquivalence { .. } => {
                format!(
                    "line {line} states the drug in another kind of unit than the bag, and no conversion is stated"
                )
            }
            Self::NotOfSubstance { what } => {
                format!(
                    "line {line} has a kind of limit ({what}) that cannot be checked for a substance"
                )
            }
            Self::VolumeMissing => format!("the run on line {line} does not state how much"),
            Self::LeansOn { kind, name } => {
                format!("the {kind} `{name}` has a line that could not be used")
            }
            Self::Missing { what } => format!("{what} is missing"),
            Self::NotComputable { what } => format!("{what} cannot be calculated"),
        }
    }
}
