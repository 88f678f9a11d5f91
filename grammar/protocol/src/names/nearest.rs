//! Names that may have been meant.

use smol_str::SmolStr;

use super::Space;
use crate::Workspace;
use crate::workspace::FileId;

/// How many names are offered.
const OFFERED: usize = 3;

/// The candidates nearest to `word`, the nearest first and at most three:
/// those within a third of its letters, swaps of neighbours counting once.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let bound = (word.chars().count() / 3).clamp(1, 3);
    let mut near: Vec<_> = candidates
        .into_iter()
        .filter(|candidate| candidate.chars().count().abs_diff(word.chars().count()) <= bound)
        .map(|candidate| (strsim::osa_distance(word, candidate), candidate))
        .filter(|(distance, _)| (1..=bound).contains(distance))
        .collect();
    near.sort_unstable();
    near.dedup();
    near.truncate(OFFERED);
    near.into_iter().map(|(_, candidate)| candidate).collect()
}

impl Workspace {
    /// The names in sight of `file` that are nearest to `name` in any of the
    /// spaces, the nearest first.
    #[must_use]
    pub fn nearest_names(&self, file: FileId, spaces: &[Space], name: &str) -> Vec<SmolStr> {
        let names = spaces
            .iter()
            .flat_map(|space| self.each_in_sight(file, *space))
            .map(|(name, _)| name.as_str());
        nearest(name, names)
            .into_iter()
            .map(SmolStr::from)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_name() {
        let names = ["noradrenaline", "adrenaline", "vasopressin"];
        assert_eq!(nearest("noradrenalin", names), ["noradrenaline"]);
        assert_eq!(nearest("vasorpessin", names), ["vasopressin"]);
        assert!(nearest("insulin", names).is_empty());
    }

    #[test]
    fn a_short_word_has_few_neighbours() {
        assert_eq!(nearest("icu", ["ice", "ward", "icu"]), ["ice"]);
    }
}
