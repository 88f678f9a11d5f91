//! What cannot be read or resolved, before what it prevents.

use gutta_protocol::model::problem::Problem;

use crate::{Finding, OrderContext};

/// That no limit was checked goes with what stands in the way: with the last
/// of it, so that all of it is told before.
pub(super) fn groups(
    context: &OrderContext<'_>,
    problems: &[Problem],
    findings: &[Finding],
) -> Vec<Vec<usize>> {
    let stands_in_the_way = |finding: &Finding| {
        problems.iter().any(|problem| {
            let (own, other) = (finding.place, context.place(problem.span));
            own.file == other.file
                && own.span.start < other.span.end
                && other.span.start < own.span.end
        })
    };
    let prevented: Vec<_> = (0..findings.len())
        .filter(|index| findings[*index].rule.is_prevented())
        .collect();
    let cause = (0..findings.len())
        .filter(|index| !prevented.contains(index) && stands_in_the_way(&findings[*index]))
        .max_by_key(|index| findings[*index].place);
    match cause {
        Some(cause) if !prevented.is_empty() => {
            vec![std::iter::once(cause).chain(prevented).collect()]
        }
        _ => Vec::new(),
    }
}
