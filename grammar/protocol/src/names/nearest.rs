//! Names that may have been meant.

use gutta_quantity::work;

/// How many names are offered.
const OFFERED: usize = 3;

/// The candidates nearest to `word`, the nearest first and at most three:
/// those within a third of its letters, swaps of neighbours counting once.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let own = Letters::of(word);
    let bound = (own.count / 3).clamp(1, 3);
    let mut seen = 0;
    let mut near: Vec<_> = candidates
        .into_iter()
        .inspect(|_| seen += 1)
        .filter(|candidate| own.may_be_within(bound, &Letters::of(candidate)))
        .map(|candidate| {
            work::charge(1);
            (strsim::osa_distance(word, candidate), candidate)
        })
        .filter(|(distance, _)| (1..=bound).contains(distance))
        .collect();
    near.sort_unstable();
    near.dedup();
    near.truncate(OFFERED);
    work::charge_each(seen / NAMES_A_UNIT);
    near.into_iter().map(|(_, candidate)| candidate).collect()
}

/// So many names are told to be far apart in a unit of work.
const NAMES_A_UNIT: usize = 8;

/// How many letters a word has, and which: what tells most words apart.
struct Letters {
    count: usize,
    which: u64,
}

impl Letters {
    fn of(word: &str) -> Self {
        let mut letters = Self { count: 0, which: 0 };
        for letter in word.chars() {
            letters.count += 1;
            letters.which |= 1 << (u32::from(letter) % 64);
        }
        letters
    }

    /// `false` where more than `bound` letters are to be changed: each change
    /// brings at most one letter, and takes at most one away.
    fn may_be_within(&self, bound: usize, other: &Self) -> bool {
        let only = |one: &Self, other: &Self| (one.which & !other.which).count_ones() as usize;
        self.count.abs_diff(other.count) <= bound
            && only(self, other) <= bound
            && only(other, self) <= bound
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
