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
