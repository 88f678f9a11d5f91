//! What those who run rules and tell findings must know of single rules, by
//! their names: nothing outside `rules/` has a rule in hand.

use crate::Rule;

/// What a slip may explain.
const EXPLAINED: &[&str] = &[
    "limit.adjust-escapes",
    "limit.never",
    "limit.patient",
    "limit.unusual",
];

/// What explains it.
const EXPLAINS: &str = "limit.slip";

/// What an order without a slip keeps to beside its limits: what the area, the
/// pump and the bag allow.
const KEPT: &[&str] = &[
    "flow.above-ceiling",
    "flow.outside-pump",
    "volume.above-pump",
    "volume.fluid-load",
    "volume.not-enough",
    "limit.route",
];

/// Where one of these stands, other rules could not be judged.
const HIDES_OTHERS: &[&str] = &[
    "check.cut-short",
    "limit.not-checked",
    "name.unknown",
    "name.twice",
    "name.use-outside",
];

/// That a worked example does not hold.
const EXAMPLE: &str = "expect.differs";

/// That limits were not checked, for a reason which stands elsewhere.
const PREVENTED: &str = "limit.not-checked";

/// What a waiver silences up to a bound alone.
const BOUNDED: &str = "limit.unusual";

/// That a bound is passed as an order starts: one that is never to be passed.
const OF_NEVER: &str = "limit.never";

/// The same, of what is usual.
const OF_USUAL: &str = "limit.unusual";

impl Rule {
    /// Which of the findings of one cause is told first. What matters most comes
    /// first: a `never`, then what cannot be run at all, then fluid, then what is
    /// unusual. A worked example shows that something is wrong, and is not what is
    /// wrong; what was not checked, or only explains, comes last.
    pub(crate) fn rank(&self) -> u8 {
        match self.name {
            "limit.never" | "limit.adjust-escapes" | "limit.substance" => 0,
            "flow.above-ceiling" | "flow.outside-pump" | "volume.above-pump" => 1,
            "volume.fluid-load" => 2,
            "limit.unusual" | "limit.in-interval" => 3,
            EXAMPLE => 5,
            PREVENTED | EXPLAINS => 6,
            _ => 4,
        }
    }

    /// Whether a slip may explain what it finds.
    pub(crate) fn is_explained(&self) -> bool {
        EXPLAINED.contains(&self.name)
    }

    /// Whether it only explains what another finds.
    pub(crate) fn explains(&self) -> bool {
        self.name == EXPLAINS
    }

    /// Whether an order without a slip has nothing of it.
    pub(crate) fn is_kept_beside_limits(&self) -> bool {
        KEPT.contains(&self.name)
    }

    /// Whether it tells of a worked example that does not hold.
    pub(crate) fn is_example(&self) -> bool {
        self.name == EXAMPLE
    }

    /// Whether it tells what something else prevented.
    pub(crate) fn is_prevented(&self) -> bool {
        self.name == PREVENTED
    }

    /// Whether a bound that it tells of as passed is of what is usual; `None`: it
    /// tells of no bound that an order passes as it starts, or of others too.
    pub(crate) fn tells_of_usual(&self) -> Option<bool> {
        match self.name {
            OF_NEVER => Some(false),
            OF_USUAL => Some(true),
            _ => None,
        }
    }

    /// Whether other rules could not be judged beside it, so that a waiver of
    /// theirs is not known to be unused.
    pub(crate) fn hides_others(&self) -> bool {
        HIDES_OTHERS.contains(&self.name)
    }

    /// Whether a waiver of it silences nothing without a bound.
    #[must_use]
    pub fn needs_bound(&self) -> bool {
        self.name == BOUNDED
    }
}

#[cfg(test)]
mod tests {
    use super::{
        BOUNDED, EXAMPLE, EXPLAINED, EXPLAINS, HIDES_OTHERS, KEPT, OF_NEVER, OF_USUAL, PREVENTED,
    };
    use crate::rules;

    #[test]
    fn every_role_is_played() {
        let ones = [EXPLAINS, EXAMPLE, PREVENTED, BOUNDED, OF_NEVER, OF_USUAL];
        let all = [EXPLAINED, KEPT, HIDES_OTHERS, &ones].concat();
        for name in all {
            assert!(rules().iter().any(|rule| rule.name == name), "{name}");
        }
    }

    #[test]
    fn every_rank_is_of_a_rule() {
        let mut ranks: Vec<_> = rules().iter().map(|rule| rule.rank()).collect();
        ranks.sort_unstable();
        let of = |rank| ranks.iter().filter(|other| **other == rank).count();
        assert_eq!([0, 1, 2, 3, 5, 6].map(of), [3, 3, 1, 2, 1, 2]);
    }
}
