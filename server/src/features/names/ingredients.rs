//! An ingredient is the substance that it limits.

use super::{declarations, named_at, occurrences, rename};
use crate::features::completion::complete;
use crate::features::harness::Fixture;
use crate::features::hover::hover;
use crate::features::lenses::{lenses, said};
use crate::features::{hints, tokens};

const REFERENCE: &str = "\
ingredient potassium \"Potassium\"
  never dose above 10 mmol/h
  never total above 3 mmol/kg per day

solution potassium-40 \"Saline with potassium\"
  contains   potassium 40 mmol/L
  contains   sodium 154 mmol/L
";

const WARD: &str = "\
use \"reference.gtt\"
order drip \"Drip\"
  hang       1 L of potassium-40
  run        all at 50 mL/h
  then       stop
  expect     potassium 2 mmol/h
set both \"Both\"
  include    drip
  potassium  up to 3 mmol/kg/day
";

fn at(marked: &str) -> Fixture {
    let bare = marked.replace('|', "");
    let put = |text: &str| text.replacen(&bare, marked, 1);
    let (reference, ward) = match WARD.contains(&bare) {
        true => (REFERENCE.to_owned(), put(WARD)),
        false => (put(REFERENCE), WARD.to_owned()),
    };
    Fixture::new([
        ("reference.gtt", reference.as_str()),
        ("ward.gtt", ward.as_str()),
    ])
}

const MEANT: [&str; 4] = [
    "reference.gtt:1 potassium",
    "reference.gtt:6 potassium",
    "ward.gtt:6 potassium",
    "ward.gtt:9 potassium",
];

#[test]
fn its_name_is_the_substances_everywhere() {
    for marked in [
        "ingredient pot|assium",
        "contains   pot|assium",
        "expect     pot|assium",
        "pot|assium  up to",
    ] {
        let fixture = at(marked);
        let named = named_at(fixture.site(), fixture.cursor()).unwrap();
        let declared = declarations(fixture.site(), &named.target);
        let declared: Vec<_> = declared
            .iter()
            .map(|found| fixture.told(found.name))
            .collect();
        assert_eq!(declared, MEANT[..2], "{marked}");
        let all = occurrences(fixture.site(), &named.target, None);
        let all: Vec<_> = all.iter().map(|found| fixture.told(found.place)).collect();
        assert_eq!(all, MEANT, "{marked}");
        let changes = rename(fixture.site(), fixture.cursor(), "kalium").unwrap();
        let changes: Vec<_> = changes
            .iter()
            .map(|change| fixture.told(change.place))
            .collect();
        assert_eq!(changes, MEANT, "{marked}");
    }
    let fixture = at("contains   sod|ium");
    assert!(rename(fixture.site(), fixture.cursor(), "potassium").is_err());
}

#[test]
fn it_is_shown_wherever_the_substance_stands() {
    for marked in ["expect     pot|assium", "contains   pot|assium"] {
        let fixture = at(marked);
        let text = hover(fixture.site(), fixture.cursor()).unwrap().text;
        assert!(text.contains("never dose above 10 mmol/h"), "{text}");
        assert!(
            text.contains("potassium-40: `contains   potassium 40 mmol/L`"),
            "{text}"
        );
    }
    let fixture = at("never dose above 1|0 mmol/h");
    let text = hover(fixture.site(), fixture.cursor()).unwrap().text;
    assert!(text.contains("mmol/min"), "{text}");
}

#[test]
fn what_contains_it_is_counted_above_it() {
    let fixture = at("ingredient pot|assium");
    let lens = lenses(fixture.site()).remove(0);
    let told = said(fixture.site(), lens).unwrap();
    assert_eq!(told.title, "contained in 1 drug or solution");
    let places: Vec<_> = told
        .places
        .iter()
        .map(|place| fixture.told(*place))
        .collect();
    assert_eq!(places, ["reference.gtt:6 potassium"]);
}

#[test]
fn its_lines_have_their_hints_and_colours() {
    let fixture = at("ingredient pot|assium");
    let end = u32::try_from(REFERENCE.len()).unwrap();
    let hints = hints::hints(fixture.site(), gutta_notation::Span::new(0, end));
    let labels: Vec<_> = hints.into_iter().map(|hint| hint.label).collect();
    assert_eq!(labels[0], "0.1667 mmol/min");
    let text = &fixture.site().source().text;
    let named = tokens::tokens(fixture.site(), None)
        .into_iter()
        .find(|token| token.span.text(text) == "potassium");
    let named = named.unwrap();
    assert!(named.declares);
    let kind = tokens::TokenKind::Name(gutta_notation::StanzaKind::Ingredient);
    assert_eq!(named.kind, kind);
}

/// What is offered at the mark of a text beside the reference.
fn offered(text: &str) -> Vec<String> {
    let fixture = Fixture::new([("reference.gtt", REFERENCE), ("ward.gtt", text)]);
    let offer = complete(&fixture.site(), fixture.cursor()).unwrap();
    offer.items.into_iter().map(|item| item.label).collect()
}

#[test]
fn what_it_may_limit_is_offered() {
    let used = "use \"reference.gtt\"\ningredient ";
    assert_eq!(offered(&format!("{used}|")), ["sodium"]);
    let lines = offered(&format!("{used}sodium\n  |\n"));
    assert_eq!(lines[..3], ["usual", "never", "equals"]);
    let measures = ["dose", "strength", "total"];
    for keyword in ["usual", "never"] {
        let found = offered(&format!("{used}sodium\n  {keyword} |\n"));
        assert_eq!(found, measures, "{keyword}");
    }
    let above = offered(&format!("{used}sodium\n  never dose |\n"));
    assert_eq!(above, ["above"]);
    let units = offered(&format!("{used}sodium\n  never dose above 5 |\n"));
    assert_eq!(units[..2], ["mmol/h", "mmol/min"]);
}
