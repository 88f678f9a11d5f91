//! Shapes, line by line, with `|` where the cursor stands.

use gutta_notation::StanzaKind;

use super::of_line;

/// The shape as it is shown, the current part in brackets.
fn told(kind: StanzaKind, before: &str) -> String {
    let Some(signature) = of_line(kind, before) else {
        return "none".to_owned();
    };
    let shape = &signature.shapes[signature.active];
    let parts = shape.parts.iter().enumerate().map(|(index, part)| {
        if index == signature.part {
            format!("<{}>", part.text)
        } else {
            part.text.to_owned()
        }
    });
    let parts: Vec<_> = parts.collect();
    format!("{} {}", signature.keyword, parts.join(" "))
}

#[test]
fn a_run_goes_on_part_by_part() {
    let order = |before: &str| told(StanzaKind::Order, before);
    for before in ["  run ", "  run 5", "  run 50 m"] {
        assert!(order(before).starts_with("run <WHAT>"), "{before}");
    }
    for before in [
        "  run 50 mL ",
        "  run all ",
        "  run all at ",
        "  run all at 0.05 mcg/kg",
    ] {
        assert!(
            order(before).contains("<at RATE>"),
            "{before}: {}",
            order(before)
        );
    }
    assert!(order("  run all over 4 ").contains("<over TIME>"));
    assert!(order("  run all at 5 mL/h, at most 9 ").contains("<, at most QUANTITY>"));
    assert!(order("  run 1 g over 1 h every ").contains("<every TIME>"));
    assert!(order("  run 1 g over 1 h every 8 h for ").contains("<for N doses>"));
}

#[test]
fn the_shape_of_a_mix_is_the_one_that_is_begun() {
    let order = |before: &str| told(StanzaKind::Order, before);
    assert_eq!(
        order("  mix 4 mg made up to "),
        "mix AMOUNT , at most QUANTITY <made up to VOLUME> with SOLUTION"
    );
    assert_eq!(
        order("  mix 4 mg added to 250 mL of "),
        "mix AMOUNT , at most QUANTITY added to VOLUME <of SOLUTION> , counted as VOLUME"
    );
}

#[test]
fn words_that_are_half_written_stay_in_their_part() {
    let order = |before: &str| told(StanzaKind::Order, before);
    for (before, part) in [
        ("  mix 4 mg made ", "<made up to VOLUME>"),
        ("  mix 4 mg made up ", "<made up to VOLUME>"),
        ("  mix 4 mg made up to 50 ", "<made up to VOLUME>"),
        ("  mix 4 mg made up to 50 mL ", "<with SOLUTION>"),
        ("  expect pump ", "<MEASURE>"),
        ("  expect pump flow ", "<QUANTITY>"),
        ("  expect flow ", "<QUANTITY>"),
        ("  expect flow 2.63 ", "<QUANTITY>"),
        ("  expect flow 2.63 mL/h at ", "<[at WEIGHT] [at DOSE]>"),
        ("  expect flow 2.63 mL/h at 7", "<[at WEIGHT] [at DOSE]>"),
        ("  expect flow 2.63 mL/h at 70 ", "<[at WEIGHT] [at DOSE]>"),
    ] {
        assert!(order(before).contains(part), "{before}: {}", order(before));
    }
    let drug = |before: &str| told(StanzaKind::Drug, before);
    assert!(drug("  usual single ").contains("<MEASURE>"));
    assert!(drug("  usual single dose ").contains("<LOW to HIGH UNIT>"));
    assert!(drug("  usual dose up ").contains("<LOW to HIGH UNIT>"));
}

#[test]
fn limits_of_a_drug() {
    let drug = |before: &str| told(StanzaKind::Drug, before);
    assert!(drug("  usual ").starts_with("usual <MEASURE>"));
    assert!(drug("  usual dose ").contains("<LOW to HIGH UNIT>"));
    assert!(drug("  usual dose 0.01 to ").contains("<LOW to HIGH UNIT>"));
    assert!(drug("  never dose above ").contains("<above QUANTITY>"));
    assert!(drug("  never dose above 2 mcg/kg/min except ").contains("<[except CONDITIONS]>"));
    assert!(drug("  never by ").contains("<by ROUTE>"));
}

#[test]
fn elsewhere_there_is_none() {
    for before in [
        "run ",
        "  run",
        "",
        "  # run ",
        "  note \"run ",
        "  bolus ceiling ",
    ] {
        assert_eq!(told(StanzaKind::Order, before), "none", "{before:?}");
    }
    assert_eq!(told(StanzaKind::Drug, "  run "), "none");
}

#[test]
fn a_substance_has_no_ban_on_a_route() {
    let shapes = |kind| of_line(kind, "  never dose above ").unwrap().shapes.len();
    assert_eq!(shapes(StanzaKind::Ingredient), 1);
    assert_eq!(shapes(StanzaKind::Drug), 2);
    assert!(told(StanzaKind::Ingredient, "  usual total up to 5 mmol ").contains("<[per day]>"));
}
