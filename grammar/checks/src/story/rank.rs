//! Which of the findings of one cause is told first.

use crate::Rule;

/// What matters most comes first: a `never`, then what cannot be run at all,
/// then fluid, then what is unusual. A worked example shows that something is
/// wrong, and is not what is wrong; what was not checked, or only explains,
/// comes last.
pub(crate) fn rank(rule: &Rule) -> u8 {
    match rule.name {
        "limit.never" | "limit.adjust-escapes" | "limit.substance" => 0,
        "flow.above-ceiling" | "flow.outside-pump" | "volume.above-pump" => 1,
        "volume.fluid-load" => 2,
        "limit.unusual" | "limit.in-interval" => 3,
        "expect.differs" => 5,
        "limit.not-checked" | "limit.slip" => 6,
        _ => 4,
    }
}
