//! What could stand where a line stopped, in a person's words.

use crate::parse::Rule;

/// What stands where the rule was tried, for a person.
pub(crate) fn said(rule: Rule) -> &'static str {
    phrase(rule).0
}

/// What stands where the rule was tried, for a person, and the words that are
/// meant literally.
pub(super) fn phrase(rule: Rule) -> (&'static str, &'static [&'static str]) {
    macro_rules! word {
        ($text:literal) => {
            (concat!("`", $text, "`"), &[$text])
        };
    }
    match rule {
        Rule::amount => ("an amount", &[]),
        Rule::volume => ("a volume", &[]),
        Rule::rate => ("a flow, a dose or a drip rate", &[]),
        Rule::dose => ("a dose or a flow", &[]),
        Rule::strength => ("a strength", &[]),
        Rule::step => ("a step", &[]),
        Rule::time => ("a time", &[]),
        Rule::count => ("a number", &[]),
        Rule::unit => ("a unit", &[]),
        Rule::name => ("a name", &[]),
        Rule::rule_name => ("a rule's name", &[]),
        Rule::text => ("a text in quotes", &[]),
        Rule::date => ("a date (2026-11-25)", &[]),
        Rule::word => ("a measure", &[]),
        Rule::comma => ("a comma", &[]),
        Rule::colon => ("a colon", &[]),
        Rule::end => ("the end of the line", &[]),
        Rule::route => (
            "a route",
            &[
                "central vein",
                "peripheral vein",
                "umbilical vein",
                "intraosseous",
                "subcutaneous",
                "epidural",
                "intrathecal",
                "nerve block",
                "wound",
                "arterial",
                "enteral",
                "central",
                "peripheral",
                "umbilical",
                "nerve",
            ],
        ),
        Rule::measure => (
            "a measure",
            &[
                "dose",
                "flow",
                "single",
                "interval",
                "strength",
                "osmolarity",
                "bolus",
                "total",
                "time",
            ],
        ),
        Rule::any => word!("any"),
        Rule::all => word!("all"),
        Rule::at => word!("at"),
        Rule::over => word!("over"),
        Rule::every => word!("every"),
        Rule::for_ => word!("for"),
        Rule::to => word!("to"),
        Rule::of => word!("of"),
        Rule::in_ => word!("in"),
        Rule::by => word!("by"),
        Rule::with => word!("with"),
        Rule::as_ => word!("as"),
        Rule::per => word!("per"),
        Rule::aged => word!("aged"),
        Rule::above => word!("above"),
        Rule::below => word!("below"),
        Rule::except => word!("except"),
        Rule::because => word!("because"),
        Rule::until => word!("until"),
        Rule::up_to => ("`up to`", &["up"]),
        Rule::down_to => ("`down to`", &["down"]),
        Rule::or_more => ("`or more`", &["or"]),
        Rule::at_most => ("`at most`", &["at"]),
        Rule::made_up_to => ("`made up to`", &["made"]),
        Rule::added_to => ("`added to`", &["added"]),
        Rule::counted_as => ("`counted as`", &["counted"]),
        Rule::each_time => ("`each time`", &["each"]),
        Rule::per_day => ("`per day`", &["per"]),
        Rule::in_any => ("`in any`", &["in"]),
        Rule::in_steps_of => ("`in steps of`", &["in"]),
        Rule::after_the_first => ("`after the first`", &["after"]),
        Rule::stop => word!("stop"),
        Rule::renew => word!("renew"),
        Rule::keep_open => ("`keep open`", &["keep"]),
        Rule::finding => word!("finding"),
        Rule::undiluted => word!("undiluted"),
        Rule::weight => word!("weight"),
        Rule::surface => word!("surface"),
        Rule::age => word!("age"),
        _ => ("a quantity", &[]),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::super::trouble::WORDS;
    use super::said;
    use crate::parse::Rule;

    /// The words of the grammar by the rule that reads them; what has a choice
    /// is no word.
    fn words() -> BTreeMap<&'static str, String> {
        let lines = include_str!("../notation.pest").lines();
        let section = lines
            .skip_while(|line| !line.starts_with("// ── words"))
            .skip(1)
            .take_while(|line| !line.starts_with("//"))
            .filter(|line| !line.contains('|') && !line.is_empty());
        let word = |line: &'static str| {
            let quoted = line.split('"').skip(1).step_by(2);
            let words: Vec<_> = quoted.filter(|word| *word != " ").collect();
            (line.split(' ').next().unwrap(), words.join(" "))
        };
        section.map(word).collect()
    }

    #[test]
    fn every_word_is_said_as_it_is_written_and_known_in_capitals() {
        let words = words();
        assert!(words.len() > 35, "{words:?}");
        for (name, phrase) in words {
            let mut rules = Rule::all_rules().iter();
            let rule = rules.find(|rule| format!("{rule:?}") == name).unwrap();
            assert_eq!(said(*rule), format!("`{phrase}`"), "`phrase` of {name}");
            for word in phrase.split(' ') {
                assert!(WORDS.contains(&word), "`WORDS` of trouble.rs wants {word}");
            }
        }
    }
}
