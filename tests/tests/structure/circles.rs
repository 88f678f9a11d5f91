//! Circles among modules that stand beside each other.

use std::collections::{BTreeMap, BTreeSet};

use crate::modules::{Needs, Path};

/// Each circle, in words: who takes what from whom. What a module takes from
/// the one above it, or that from it, is none.
pub(crate) fn circles(needs: &Needs) -> Vec<String> {
    let arrows = beside_each_other(needs);
    let mut told = Vec::new();
    let mut seen: BTreeSet<&Path> = BTreeSet::new();
    for from in arrows.keys() {
        if seen.contains(from) {
            continue;
        }
        if let Some(circle) = shortest(&arrows, from) {
            seen.extend(&circle);
            let next = circle.iter().skip(1).chain(circle.first());
            let steps = circle.iter().zip(next).map(|(from, to)| {
                let why = &arrows[*from][*to];
                format!("{} -> {} ({why})", from.join("::"), to.join("::"))
            });
            told.push(steps.collect::<Vec<_>>().join(", "));
        }
    }
    told
}

/// For modules with the same one above them: which needs which, and an instance
/// of why.
type Arrows = BTreeMap<Path, BTreeMap<Path, String>>;

fn beside_each_other(needs: &Needs) -> Arrows {
    let mut arrows = Arrows::new();
    for ((own, from), what) in needs {
        let pairs = own.iter().zip(from);
        let shared = pairs.take_while(|(one, other)| one == other).count();
        if shared == own.len().min(from.len()) {
            continue;
        }
        let of = arrows.entry(own[..=shared].to_vec()).or_default();
        of.entry(from[..=shared].to_vec()).or_insert_with(|| {
            let what: Vec<_> = what.iter().map(String::as_str).collect();
            format!("{} takes {}", own.join("::"), what.join(" and "))
        });
    }
    arrows
}

/// The shortest way from a module back to itself.
fn shortest<'a>(arrows: &'a Arrows, from: &'a Path) -> Option<Vec<&'a Path>> {
    let mut before: BTreeMap<&Path, &Path> = BTreeMap::new();
    let mut reached = vec![from];
    let mut next = 0;
    while let Some(&at) = reached.get(next) {
        next += 1;
        for to in arrows.get(at).into_iter().flatten().map(|(to, _)| to) {
            if to == from {
                let mut way = vec![at];
                while let Some(last) = way.last()
                    && let Some(earlier) = before.get(last)
                {
                    way.push(earlier);
                }
                way.reverse();
                return Some(way);
            }
            if !before.contains_key(to) {
                before.insert(to, at);
                reached.push(to);
            }
        }
    }
    None
}
