//! Slips that explain a breach, among the findings of a stanza.

use gutta_protocol::Place;
use rustc_hash::FxHashSet;

use crate::Finding;

/// The label of the breach that a slip explains.
pub(crate) const BESIDE: &str = "what is out of bounds";

/// Takes out slips whose breach nobody reports any more, since it is waived:
/// what is meant needs no explanation. Says whether any breach is left.
pub(crate) fn only_beside(findings: &mut Vec<Finding>) -> bool {
    let beside: FxHashSet<_> = findings
        .iter()
        .filter(|finding| finding.rule.is_explained())
        .map(|finding| finding.place)
        .collect();
    findings.retain(|finding| {
        !finding.rule.explains() || place(finding).is_some_and(|place| beside.contains(&place))
    });
    !beside.is_empty()
}

/// Whether a finding only explains another: which slip it likely is.
#[must_use]
pub fn explains(finding: &Finding) -> bool {
    place(finding).is_some()
}

/// Where the breach stands that the finding explains, if it is a slip.
pub(crate) fn place(finding: &Finding) -> Option<Place> {
    let mut labels = finding.related.iter();
    let breach = labels.find(|label| finding.rule.explains() && label.message == BESIDE);
    breach.map(|label| label.place)
}
