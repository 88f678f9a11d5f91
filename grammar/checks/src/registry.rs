//! The one list of all rules, and which of them speaks of what.

use std::sync::LazyLock;

use gutta_notation::MarkKind;
use rustc_hash::FxHashMap;

use crate::outcome::{Flaw, Outcome};
use crate::rules::check::cut_short;
use crate::rules::expect::not_found;
use crate::rules::limit::not_checked;
use crate::rules::waive::{bare, expired, locked, unused};
use crate::rules::{FAMILIES, text, unit};
use crate::{Finding, Rule, StanzaContext};

static RULES: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| FAMILIES.concat());

static BY_NAME: LazyLock<FxHashMap<&'static str, &'static Rule>> =
    LazyLock::new(|| rules().iter().map(|rule| (rule.name, *rule)).collect());

static NAMES: LazyLock<Vec<&'static str>> =
    LazyLock::new(|| rules().iter().map(|rule| rule.name).collect());

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

/// The names of all rules, in the same order.
pub(crate) fn names() -> &'static [&'static str] {
    &NAMES
}

/// The rule that speaks of a mark. No kind of mark is without one.
pub(crate) fn of_mark(kind: &MarkKind) -> &'static Rule {
    match kind {
        MarkKind::Unreadable(_) => &text::unreadable::RULE,
        MarkKind::TrailingZero => &text::trailing_zero::RULE,
        MarkKind::BarePoint => &text::bare_point::RULE,
        MarkKind::NoSpace => &text::no_space::RULE,
        MarkKind::Thousands => &text::thousands::RULE,
        MarkKind::DecimalComma => &text::decimal_comma::RULE,
        MarkKind::RiskyUnit { .. } => &text::risky_unit::RULE,
        MarkKind::Twice { .. } => &text::twice::RULE,
        MarkKind::OddCharacter { .. } | MarkKind::HiddenCharacter { .. } => {
            &text::odd_character::RULE
        }
        MarkKind::Pounds => &text::pounds::RULE,
        MarkKind::RiskyName { .. } => &text::risky_name::RULE,
        MarkKind::RatioStrength => &text::ratio_strength::RULE,
        MarkKind::MixedScripts => &text::look_alike::RULE,
        MarkKind::Phrase(_) => &text::phrase::RULE,
        MarkKind::NoValue(_) => &text::no_value::RULE,
        MarkKind::UnknownUnit => &unit::unknown::RULE,
        MarkKind::MissingUnit { .. } => &unit::missing::RULE,
    }
}

/// The rule that speaks of a fault of gutta's own.
pub(crate) fn of_fault() -> &'static Rule {
    &not_checked::RULE
}

/// What is said of an outcome of the run. None is without words.
pub(crate) fn told(context: &StanzaContext<'_>, outcome: Outcome<'_>) -> Finding {
    match outcome {
        Outcome::NothingDerived => cut_short::nothing_derived(context),
        Outcome::RulesLeft(left) => cut_short::rules_left(context, left),
        Outcome::SearchLeft(rule) => cut_short::search_left(context, rule),
        Outcome::Waiver(line, flaw) => match flaw {
            Flaw::Locked(rule) => locked::report(context, line, rule),
            Flaw::Lacks(lack) => bare::report(context, line, lack),
            Flaw::Expired(until) => expired::report(context, line, until),
            Flaw::Unused(rule, left) => unused::report(context, line, rule, left),
        },
        Outcome::NotFound { name, rule, found } => not_found::report(context, name, rule, found),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::{Path, PathBuf};

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

    fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
            let path = entry.path();
            if path.is_dir() {
                sources(&path, into);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                into.push(path);
            }
        }
    }

    /// A rule in the hands of whoever runs it would be known there before it is
    /// applied, and forgotten there when it goes.
    #[test]
    fn outside_the_rules_this_file_alone_has_one_in_hand() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut files = Vec::new();
        sources(&root, &mut files);
        let own = [root.join("rules"), root.join("registry.rs")];
        files.retain(|file| !own.iter().any(|own| file.starts_with(own)));
        assert!(files.len() > 20, "{files:?}");
        for file in files {
            let text = fs::read_to_string(&file).unwrap();
            for way in ["rules::", "rules as"] {
                assert!(!text.contains(way), "{}: `{way}`", file.display());
            }
        }
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
