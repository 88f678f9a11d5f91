//! What follows from an order.

use super::{FOR_PROGRAMS, Written, texts};
use crate::styles::{HOUSES, House};

#[test]
fn what_follows_is_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let dose = house.writes("12,345 units/h");
        for words in [
            &["derive", "--working", "."][..],
            &["derive", "--dose", &dose, "large.gtt"],
            &["derive", "--format", "markdown", "."],
        ] {
            written.run(words);
        }
        for words in [
            &["derive", "--working", "--format", "json", "."][..],
            &["export", "--fhir", "r4", "."],
            &["export", "--fhir", "r5", "large.gtt"],
        ] {
            let document = written.folder.run(words).json();
            let mut all = Vec::new();
            texts(&document, "", &mut all);
            assert!(all.len() > 100, "{words:?}");
            // The standard's `unit` is for people, `gutta derive`'s is not.
            let exported = words[0] == "export";
            all.retain(|(key, _)| !FOR_PROGRAMS.contains(key) || exported && *key == "unit");
            for (key, text) in all {
                written.look(&format!("{} {key}", words.join(" ")), text);
            }
        }
        written.end();
    }
}

/// What programs read of what follows is the same whatever the house.
#[test]
fn programs_are_told_the_same_in_every_house() {
    let told = |house: House| {
        let written = Written::of_large(house);
        let document = written
            .folder
            .run(&["derive", "--format", "json", "large.gtt"]);
        let document = document.json();
        let mut all = Vec::new();
        texts(&document, "", &mut all);
        all.retain(|(key, _)| FOR_PROGRAMS.contains(key));
        let all = all.into_iter().map(|(key, text)| format!("{key} {text}"));
        all.collect::<Vec<_>>()
    };
    let [first, others @ ..] = HOUSES.map(told);
    assert!(
        first.iter().any(|line| line == "unit ng/kg/min"),
        "{first:?}"
    );
    assert!(first.iter().any(|line| line == "exact 20000"), "{first:?}");
    for other in others {
        assert_eq!(first, other);
    }
}

#[test]
fn a_setting_is_asked_for_as_the_house_writes() {
    for house in HOUSES {
        let written = Written::of_large(house);
        let others = HOUSES.map(|other| other.writes("12,345 units/h"));
        for asked in others {
            let ran = written
                .folder
                .run(&["derive", "--dose", &asked, "large.gtt"]);
            let known = asked == house.writes("12,345 units/h");
            assert_eq!(ran.code == Some(2), !known, "{asked}: {ran:?}");
        }
    }
}
