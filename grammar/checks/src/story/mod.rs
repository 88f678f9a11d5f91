//! Findings of one cause. A wrong number breaks a `never`, passes the ceiling and
//! the pump, and leaves every worked example wrong: whoever reads that as seven
//! findings looks for seven mistakes. Each finding stays one, with its severity;
//! what is added is which of them tell one story.

mod changes;
mod numbers;
mod prevented;
mod told;

use crate::{Finding, OrderContext, slips};

pub(crate) use told::in_order;
pub use told::{Story, causes, stories};

/// Marks which findings of an order have one cause: what a name or a line that
/// could not be taken keeps from being checked, and what the change of one number
/// mends together. `search` carries the latter out for as long as there is time:
/// what was not linked by then stands alone.
pub(crate) fn link(
    context: &OrderContext<'_>,
    findings: &mut [Finding],
    search: impl FnOnce(&mut dyn FnMut()),
) {
    let mut groups = Vec::new();
    match &context.analysis.values {
        Ok(_) => {
            search(&mut || numbers::groups(context, findings, &mut groups));
            numbers::of_one_measure(findings, &mut groups);
        }
        Err(incomplete) => groups = prevented::groups(context, &incomplete.problems, findings),
    }
    beside_their_breach(findings, &mut groups);
    for (story, group) in (0..).zip(&groups) {
        for member in group {
            findings[*member].story = Some(story);
        }
    }
}

/// Puts each slip to the breach that it explains.
fn beside_their_breach(findings: &[Finding], groups: &mut Vec<Vec<usize>>) {
    for (index, finding) in findings.iter().enumerate() {
        let Some(place) = slips::place(finding) else {
            continue;
        };
        let mut all = findings.iter().enumerate();
        let breach = all.find(|(_, other)| other.rule.is_explained() && other.place == place);
        let Some((breach, _)) = breach else { continue };
        match groups.iter_mut().find(|group| group.contains(&breach)) {
            Some(group) => group.push(index),
            None => groups.push(vec![breach, index]),
        }
    }
}

#[cfg(test)]
mod tests;
