//! Which names may be one slip of a key apart, among very many.

use std::hash::{Hash, Hasher};
use std::iter;

use rustc_hash::FxHasher;
use smol_str::SmolStr;

/// Names, found by what is left of them when one letter is taken out: two that
/// are a slip apart (a letter more, less or another, two neighbours exchanged)
/// share such a rest.
#[derive(Clone, Debug)]
pub(super) struct Slips {
    names: Vec<SmolStr>,
    /// The hash of a rest, and the name it is of; in order.
    rests: Vec<(u64, u32)>,
}

impl Slips {
    pub(super) fn of(names: impl Iterator<Item = SmolStr>) -> Self {
        let mut names: Vec<_> = names.collect();
        names.sort_unstable();
        let mut rests = Vec::new();
        for (place, name) in (0..).zip(&names) {
            rests.extend(rests_of(name).map(|rest| (rest, place)));
        }
        rests.sort_unstable();
        rests.dedup();
        Self { names, rests }
    }

    /// All names that may be a slip from `word`, itself perhaps among them,
    /// each once, in order.
    pub(super) fn near(&self, word: &str) -> Vec<&SmolStr> {
        let mut places: Vec<u32> = rests_of(word)
            .flat_map(|rest| {
                let from = self.rests.partition_point(|(other, _)| *other < rest);
                let same = self.rests[from..].iter();
                same.take_while(move |(other, _)| *other == rest)
                    .map(|(_, place)| *place)
            })
            .collect();
        places.sort_unstable();
        places.dedup();
        let named = places.into_iter();
        named
            .filter_map(|place| self.names.get(place as usize))
            .collect()
    }
}

/// Hashes of the word, and of the word without one letter. Longer words than
/// any name are cut: what lies behind is no slip's business.
fn rests_of(word: &str) -> impl Iterator<Item = u64> {
    const LONGEST: usize = 80;
    let letters: Vec<char> = word.chars().take(LONGEST).collect();
    let without = (0..letters.len()).map(Some);
    iter::once(None).chain(without).map(move |out| {
        let mut hasher = FxHasher::default();
        for (at, letter) in letters.iter().enumerate() {
            if Some(at) != out {
                letter.hash(&mut hasher);
            }
        }
        hasher.finish()
    })
}

#[cfg(test)]
mod tests {
    use super::Slips;

    #[test]
    fn a_slip_is_found() {
        let names = ["insulin", "inulin", "midazolam", "cefazolin", "zinc"];
        let slips = Slips::of(names.into_iter().map(Into::into));
        assert_eq!(slips.near("insulin"), ["insulin", "inulin"]);
        assert_eq!(slips.near("inulin"), ["insulin", "inulin"]);
        assert_eq!(slips.near("midazolan"), ["midazolam"]);
        assert_eq!(slips.near("cefazloin"), ["cefazolin"]);
        assert_eq!(slips.near("cefazolins"), ["cefazolin"]);
        assert!(slips.near("heparin").is_empty());
    }
}
