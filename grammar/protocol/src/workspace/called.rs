//! What is called so on paper: `5% dextrose` is the solution `glucose-5`.

use gutta_quantity::work;
use smol_str::SmolStr;

use super::Workspace;
use crate::names::Space;
use crate::source::FileId;

/// Words for one thing; the first is the one that is compared.
const SAME: [&[&str]; 6] = [
    &["glucose", "dextrose"],
    &["saline", "nacl"],
    &["water", "wfi"],
    &["pump", "driver"],
    &["line", "catheter"],
    &["ward", "unit", "area"],
];

/// Words that tell nothing apart.
const EMPTY: [&str; 9] = [
    "the",
    "a",
    "an",
    "of",
    "for",
    "in",
    "solution",
    "infusion",
    "injections",
];

/// The words that tell one thing from another, in no order.
fn words(phrase: &str) -> Vec<String> {
    let lower = phrase.to_lowercase();
    let lower = lower
        .replace("sodium chloride", "saline")
        .replace("normal saline", "saline");
    let parts = lower.split(|c: char| !(c.is_alphanumeric() || c == '.'));
    let mut words: Vec<String> = Vec::new();
    for part in parts
        .map(|part| part.trim_matches('.'))
        .filter(|part| !part.is_empty())
    {
        let part = match part {
            // Abbreviations that stand for a whole solution.
            "ns" => "saline",
            "d5w" | "g5w" => {
                words.extend(["glucose".to_owned(), "5".to_owned()]);
                continue;
            }
            "d10w" | "g10w" => {
                words.extend(["glucose".to_owned(), "10".to_owned()]);
                continue;
            }
            part => part,
        };
        let same = SAME.iter().find(|same| same.contains(&part));
        let word = same.map_or(part, |same| same[0]);
        if !EMPTY.contains(&word) {
            words.push(word.to_owned());
        }
    }
    // Saline without a strength is the isotonic one.
    if words.iter().any(|word| word == "saline") {
        words.retain(|word| word != "0.9");
    }
    words.sort();
    words.dedup();
    words
}

impl Workspace {
    /// The one name in sight of `file` that is called so, by its name or its title;
    /// `None` where there is none, or there are several.
    #[must_use]
    pub fn called(&self, file: FileId, space: Space, phrase: &str) -> Option<SmolStr> {
        let wanted = words(phrase);
        if wanted.is_empty() {
            return None;
        }
        let is_so = |name: &str, title: Option<&str>| {
            words(name) == wanted || title.is_some_and(|title| words(title) == wanted)
        };
        let mut found = None;
        for (name, id) in self.each_in_sight(file, space) {
            work::charge(1);
            let title = self.stanza(id).title.as_ref();
            if is_so(name, title.map(|title| title.value.as_str())) {
                if found.is_some_and(|other| other != name) {
                    return None;
                }
                found = Some(name);
            }
        }
        found.cloned()
    }
}

#[cfg(test)]
mod tests {
    use super::words;

    #[test]
    fn one_thing_has_one_set_of_words() {
        let same = [
            ("glucose-5", "5% dextrose"),
            ("glucose-5", "Glucose 5 %"),
            ("glucose-5", "D5W"),
            ("saline", "0.9% sodium chloride"),
            ("saline", "normal saline"),
            ("saline", "NaCl 0.9%"),
            ("saline", "NS"),
            ("syringe-pump", "syringe driver"),
        ];
        for (one, other) in same {
            assert_eq!(words(one), words(other), "{one}, {other}");
        }
        let others = [
            ("glucose-5", "glucose 10%"),
            ("saline", "saline 0.45%"),
            ("saline", "glucose 5% and saline"),
            ("saline-potassium-40", "saline"),
        ];
        for (one, other) in others {
            assert_ne!(words(one), words(other), "{one}, {other}");
        }
    }
}
