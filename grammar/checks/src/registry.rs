//! The one list of all rules.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use crate::Rule;
use crate::rules::FAMILIES;

static RULES: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| FAMILIES.concat());

static BY_NAME: LazyLock<FxHashMap<&'static str, &'static Rule>> =
    LazyLock::new(|| rules().iter().map(|rule| (rule.name, *rule)).collect());

/// Every rule, in the order of the families and of their names.
#[must_use]
pub fn rules() -> &'static [&'static Rule] {
    &RULES
}

/// The rule of this name.
#[must_use]
pub fn rule(name: &str) -> Option<&'static Rule> {
    BY_NAME.get(name).copied()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::Path;

    use super::{FAMILIES, rule, rules};

    #[test]
    fn every_rule_file_is_listed_once_beside_its_page() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules");
        let mut files = BTreeSet::new();
        for family in fs::read_dir(&root).unwrap().map(Result::unwrap) {
            if !family.file_type().unwrap().is_dir() {
                continue;
            }
            for file in fs::read_dir(family.path()).unwrap().map(Result::unwrap) {
                let path = file.path();
                let page = path.with_extension("md");
                if path.extension().is_some_and(|extension| extension == "rs") && page.exists() {
                    let stem = path.file_stem().unwrap().to_str().unwrap();
                    let family = family.file_name().into_string().unwrap();
                    files.insert(format!("{family}.{}", stem.replace('_', "-")));
                }
            }
        }
        let listed: Vec<_> = rules().iter().map(|rule| rule.name.to_owned()).collect();
        assert_eq!(
            listed.len(),
            BTreeSet::from_iter(&listed).len(),
            "listed twice"
        );
        assert_eq!(BTreeSet::from_iter(listed), files);
    }

    #[test]
    fn a_family_is_one_and_in_order() {
        for family in FAMILIES {
            assert!(family.is_sorted_by_key(|rule| rule.name));
            assert!(
                family
                    .windows(2)
                    .all(|pair| pair[0].family() == pair[1].family())
            );
        }
    }

    #[test]
    fn a_rule_is_found_by_its_name() {
        assert_eq!(rule("text.twice").map(|rule| rule.name), Some("text.twice"));
        assert!(rule("text.thrice").is_none());
    }
}
