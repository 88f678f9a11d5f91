//! What follows from a change, in one sentence: what grew by as much stands
//! together.

use gutta_checks::words::all_of;
use gutta_quantity::Exact;

use super::words::Compared;
use crate::compare::{Change, Greatest, Subject};

/// What is told of one value beside another, where it goes as that one does.
const SETTINGS: [&str; 2] = [" at the lowest setting", " at the highest setting"];

/// The sentence, and whether anything in it is marked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Follows {
    /// `so: flow, dose × 2`.
    pub text: String,
    /// Whether anything in it is marked.
    pub marked: bool,
}

impl Compared {
    /// Whether a change is told in that sentence, and not by itself.
    #[must_use]
    pub fn is_told_along(&self, change: &Change) -> bool {
        !self.rows && change.derived && change.greatest.is_some()
    }

    /// What follows from what changed, and what stays; `None` where nothing is
    /// told along.
    #[must_use]
    pub fn follows(&self, subject: &Subject) -> Option<Follows> {
        let along = subject.changes.iter();
        let along: Vec<_> = along.filter(|change| self.is_told_along(change)).collect();
        if along.is_empty() {
            return None;
        }
        let mut groups: Vec<(String, Vec<String>)> = Vec::new();
        for change in along.iter().filter(|change| !goes_along(change, &along)) {
            let Some(greatest) = &change.greatest else {
                continue;
            };
            let how = self.how(greatest);
            let name = match &change.phase {
                Some(phase) => format!("{} ({phase})", change.what),
                None => change.what.clone(),
            };
            match groups.iter_mut().find(|(known, _)| *known == how) {
                Some((_, names)) => names.push(name),
                None => groups.push((how, vec![name])),
            }
        }
        let mut parts: Vec<_> = groups
            .iter()
            .map(|(how, names)| format!("{} {how}", all_of(names)))
            .collect();
        if !subject.kept.is_empty() {
            let names: Vec<_> = subject
                .kept
                .iter()
                .map(|name| format!("the {name}"))
                .collect();
            let stay = if names.len() == 1 { "stays" } else { "stay" };
            parts.insert(0, format!("{} {stay}", all_of(&names)));
        }
        let own = subject.changes.iter().any(|change| !change.derived);
        let lead = if own { "so" } else { "because of what it uses" };
        Some(Follows {
            text: format!("{lead}: {}", parts.join("; ")),
            marked: along.iter().any(|change| change.marked),
        })
    }

    /// `× 0.5`, `down to × 0.45, at 43.33 kg`.
    fn how(&self, greatest: &Greatest) -> String {
        let ratio = self.ratio(&greatest.ratio);
        let certain = if greatest.certain { "" } else { " or further" };
        match &greatest.at {
            None => format!("{ratio}{certain}"),
            Some(at) => {
                let way = if greatest.ratio < Exact::ONE {
                    "down"
                } else {
                    "up"
                };
                format!("{way} to {ratio}{certain} (at {at})")
            }
        }
    }
}

/// Whether it only says again what another of them says: the same value per kg,
/// or at another setting, which changed no further.
fn goes_along(change: &Change, all: &[&Change]) -> bool {
    let base = SETTINGS
        .iter()
        .find_map(|setting| change.what.strip_suffix(setting))
        .map(ToOwned::to_owned)
        .or_else(|| {
            let whole = change.what.replace(" per kg", "").replace(" per m2", "");
            (whole != change.what).then_some(whole)
        });
    let Some(base) = base else { return false };
    let same = |other: &&Change| other.what == base && other.phase == change.phase;
    let Some(other) = all.iter().find(|other| same(other)) else {
        return false;
    };
    let no_further = |one: &Greatest, other: &Greatest| {
        let same_for_all = one.at.is_none() && other.at.is_none();
        match same_for_all {
            true => one.ratio == other.ratio,
            // In steps: whichever went the furthest is told.
            false => {
                one.certain
                    && other.certain
                    && (one.ratio < Exact::ONE) == (other.ratio < Exact::ONE)
                    && size(&one.ratio) <= size(&other.ratio)
            }
        }
    };
    match (&change.greatest, &other.greatest) {
        (Some(own), Some(other)) => no_further(own, other),
        _ => false,
    }
}

/// How far from 1, either way.
fn size(ratio: &Exact) -> Option<Exact> {
    match *ratio < Exact::ONE {
        true => ratio.recip(),
        false => Some(ratio.clone()),
    }
}
