//! What is said of what stands under the cursor, marked with `|`.

use insta::assert_snapshot;

use super::hover;
use crate::features::CAUTION;
use crate::features::harness::Fixture;

const DRUGS: &str = "\
pump syringe \"Syringe pump\"
  flow       0.1 to 200 mL/h in steps of 0.1 mL/h
  accuracy   5 %

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

drug magnesium-sulfate \"Magnesium sulfate\"
  equals     1 g, 4.06 mmol

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 1 mcg/kg/min
  source     \"Tarnwick formulary 2026, 4.2\"
  review by  2027-11-01

";

const ORDER: &str = "\
order noradrenaline-single \"Noradrenaline\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop
  expect     flow 2.63 mL/h at 70 kg
  waive      limit.unusual of dose up to 0.6 mcg/kg/min because \"septic shock\"
";

/// What is said at the mark that replaces the text's first `at`.
fn said(at: &str) -> Option<String> {
    let plain = at.replace('|', "");
    let text = format!("{DRUGS}{ORDER}");
    assert!(text.contains(&plain), "{plain}");
    let fixture = Fixture::of(&text.replacen(&plain, at, 1));
    let found = hover(fixture.site(), fixture.cursor())?;
    let under = found.span.text(&fixture.site().source().text).to_owned();
    Some(format!("{under}\n---\n{}", found.text))
}

#[test]
fn of_a_run_the_working_and_a_table() {
    assert_snapshot!(said("r|un        all").unwrap());
}

#[test]
fn of_a_quantity_its_equivalents() {
    assert_snapshot!(said("all at 0.0|5 mcg/kg/min").unwrap());
    assert_eq!(said("accuracy   |5 %"), None);
}

#[test]
fn of_a_name_the_facts() {
    assert_snapshot!("drug", said("drug       norad|renaline").unwrap());
    assert_snapshot!("pump", said("pump       syri|nge").unwrap());
    assert_snapshot!("order", said("order noradrenaline-sin|gle").unwrap());
}

#[test]
fn of_a_rule_its_page() {
    let text = said("waive      limit.un|usual").unwrap();
    assert!(
        text.starts_with("limit.unusual\n---\n**limit.unusual**"),
        "{text}"
    );
    assert!(text.contains("**Why it matters**"));
}

#[test]
fn of_an_incomplete_order_what_is_missing() {
    let broken = ORDER.replace("50 mL with glucose-5", "50 mL with water");
    let marked = broken.replace("run        all", "r|un        all");
    let fixture = Fixture::of(&format!("{DRUGS}{marked}"));
    let found = hover(fixture.site(), fixture.cursor()).unwrap();
    assert_snapshot!(found.text);
}

#[test]
fn of_a_bag_that_cannot_be_made_what_is_missing() {
    let broken = ORDER.replace("mix        4 mg", "mix        60 mg");
    for (old, marked) in [
        ("run        all", "r|un        all"),
        ("mix        60", "m|ix        60"),
        ("noradrenaline-single", "noradrenaline-sin|gle"),
    ] {
        let fixture = Fixture::of(&format!("{DRUGS}{}", broken.replacen(old, marked, 1)));
        let found = hover(fixture.site(), fixture.cursor()).unwrap();
        let why =
            "The order cannot be made up, so nothing is calculated from it:\n\n- the bag on line ";
        assert!(found.text.contains(why), "{}", found.text);
        let shown =
            crate::features::hints::hints(fixture.site(), gutta_notation::Span::new(0, u32::MAX));
        assert!(
            !shown.iter().any(|hint| hint.label.contains("mL/h")),
            "{shown:?}"
        );
    }
}

#[test]
fn whatever_shows_a_derived_number_ends_with_the_caution() {
    for at in [
        "r|un        all",
        "m|ix        4 mg",
        "ex|pect     flow",
        "mix        |4 mg",
        "drug       norad|renaline",
        "order noradrenaline-sin|gle",
    ] {
        let text = said(at).unwrap();
        assert!(text.ends_with(&format!("*{CAUTION}*")), "{at}: {text}");
    }
}

#[test]
fn half_typed_lines_are_answered_everywhere() {
    let text = format!("{DRUGS}{ORDER}");
    for end in (DRUGS.len()..text.len()).step_by(5) {
        let fixture = Fixture::of(&text[..end]);
        for back in 0..4 {
            hover(
                fixture.site(),
                u32::try_from(end).unwrap().saturating_sub(back),
            );
        }
        hover(fixture.site(), u32::MAX);
    }
    let fixture = Fixture::of("order é\n  mix 4 µg 𝕏 made up to\n");
    for at in 0..40 {
        hover(fixture.site(), at);
    }
}

#[test]
fn every_keyword_says_something() {
    let every = include_str!("../../../../tests/command/every.gtt");
    let scene = Fixture::of(every);
    let site = scene.site();
    for id in site.workspace.stanzas_in(site.file) {
        for line in &site.workspace.stanza(id).lines {
            let place = site.workspace.place(id, line.keyword);
            let said = hover(site, place.span.start);
            let said = said.is_some_and(|hover| !hover.text.is_empty());
            assert!(said, "{}", site.workspace.text_at(place));
        }
    }
}
