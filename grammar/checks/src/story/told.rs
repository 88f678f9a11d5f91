//! Findings in the order in which they are told: those of one cause together.

use gutta_protocol::{Place, StanzaId};
use rustc_hash::FxHashMap;

use crate::Finding;

/// Findings of one cause.
#[derive(Clone, Debug)]
pub struct Story<'a> {
    /// What is told first: of those that there are, what matters most.
    pub cause: &'a Finding,
    /// What goes with it, in the order in which it is told.
    pub follows: Vec<&'a Finding>,
}

type Key = (StanzaId, u32);

fn key(finding: &Finding) -> Option<Key> {
    Some((finding.stanza?, finding.story?))
}

/// Which of the findings tells the cause of each, by its index; `None`: it is one
/// itself. Where the cause is not among them, the next in line stands for it.
#[must_use]
pub fn causes(findings: &[&Finding]) -> Vec<Option<usize>> {
    let mut leaders: FxHashMap<Key, usize> = FxHashMap::default();
    for (index, finding) in findings.iter().enumerate() {
        let Some(key) = key(finding) else { continue };
        let leader = leaders.entry(key).or_insert(index);
        if finding.rule.rank() < findings[*leader].rule.rank() {
            *leader = index;
        }
    }
    let cause = |(index, finding): (usize, &&Finding)| {
        let leader = leaders.get(&key(finding)?)?;
        (*leader != index).then_some(*leader)
    };
    findings.iter().enumerate().map(cause).collect()
}

/// The findings by their causes, in the order of the causes.
#[must_use]
pub fn stories<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Vec<Story<'a>> {
    let findings: Vec<_> = findings.into_iter().collect();
    let causes = causes(&findings);
    let mut places = vec![0; findings.len()];
    let mut stories: Vec<Story<'_>> = Vec::new();
    for (index, finding) in findings.iter().enumerate() {
        if causes[index].is_none() {
            places[index] = stories.len();
            stories.push(Story {
                cause: finding,
                follows: Vec::new(),
            });
        }
    }
    for (finding, cause) in findings.iter().zip(&causes) {
        if let Some(cause) = cause {
            stories[places[*cause]].follows.push(finding);
        }
    }
    stories
}

/// Sorts by place, then rule; what follows from another goes behind it.
pub(crate) fn in_order(findings: &mut Vec<Finding>) {
    fn key(finding: &Finding) -> (Place, &str, &str) {
        (finding.place, finding.rule.name, &finding.message)
    }
    if !findings.is_sorted_by_key(key) {
        findings.sort_by(|a, b| key(a).cmp(&key(b)));
    }
    if findings.iter().all(|finding| finding.story.is_none()) {
        return;
    }
    let causes = causes(&findings.iter().collect::<Vec<_>>());
    let mut placed: Vec<_> = std::mem::take(findings)
        .into_iter()
        .enumerate()
        .map(|(index, finding)| {
            let leader = causes[index].unwrap_or(index);
            let behind = causes[index].map(|_| finding.rule.rank());
            ((leader, behind, index), finding)
        })
        .collect();
    placed.sort_by_key(|(place, _)| *place);
    findings.extend(placed.into_iter().map(|(_, finding)| finding));
}
