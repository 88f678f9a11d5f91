//! The actions at a cursor, as a person reads them, and what they make of the
//! text.

use gutta_checks::{Fix, fixes};

use super::{Action, ActionKind, actions, fix_all};
use crate::features::harness::Fixture;

const REFERENCE: &str = "\
solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

pump syringe \"Syringe pump\"
  flow       0.1 to 200 mL/h in steps of 0.1 mL/h

area ward \"Ward\"
  patient    weight 40 to 120 kg

area theatre \"Theatre\"
  patient    weight 40 to 120 kg

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 2 mcg/kg/min except in theatre
";

fn scene(lines: &str) -> Fixture {
    let text = format!("use \"reference.gtt\"\n\norder press \"Noradrenaline\"\n{lines}");
    Fixture::new([("reference.gtt", REFERENCE), ("page.gtt", &text)]).checked()
}

fn of(scene: &Fixture) -> Vec<Action> {
    actions(&scene.site(), scene.stretch(), |_| true)
}

fn titles(scene: &Fixture) -> String {
    let all = of(scene);
    let titles: Vec<_> = all
        .iter()
        .map(|action| format!("{:?}: {}", action.kind, action.title))
        .collect();
    titles.join("\n")
}

/// The page once the action of which the title holds these words is done.
#[track_caller]
fn done(scene: &Fixture, words: &str) -> String {
    let all = of(scene);
    let action = all.iter().find(|action| action.title.contains(words));
    let Some(action) = action else {
        panic!("none has `{words}`:\n{}", titles(scene));
    };
    apply(scene, action)
}

fn apply(scene: &Fixture, action: &Action) -> String {
    let fix = Fix {
        title: String::new(),
        edits: action.edits.clone(),
        spelling: false,
        doses: None,
    };
    fixes::apply(scene.text(), &[&fix])
}

/// The rules that find something on the page.
fn rules(text: &str) -> Vec<&'static str> {
    let scene = Fixture::new([("reference.gtt", REFERENCE), ("page.gtt", text)]).checked();
    let findings = scene.checked.findings(&scene.workspace, scene.file);
    let mut rules: Vec<_> = findings.iter().map(|finding| finding.rule.name).collect();
    rules.dedup();
    rules
}

const STEADY: &str = "  drug       noradrenaline
  area       ward
  route      central vein
  pump       syringe
";

#[test]
fn what_changes_a_dose_shows_both() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        all at |50 mcg/kg/min|
  then       stop
"
    ));
    insta::assert_snapshot!(titles(&scene), @r"
    Mend: Write 0.05 mcg/kg/min instead of 50 mcg/kg/min: the dose 50 mcg/kg/min becomes 0.05 mcg/kg/min
    Mend: Waive `flow.outside-pump`, once its reason is written
    Mend: Waive `limit.slip`, once its reason is written
    Rewrite: Make it a specimen, which expects `flow.outside-pump`, `limit.never`, `limit.slip`
    Insert: Insert the worked example `expect flow 1500 mL/h at 40 kg`
    Insert: Insert the worked example `expect flow 4500 mL/h at 120 kg`
    ");
}

#[test]
fn a_bag_is_made_up_and_the_dose_told() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg |added to 50 mL of glucose-5
  run        all at 3 mL/h
  then       stop
"
    ));
    insta::assert_snapshot!(titles(&scene), @r"
    Rewrite: Make the bag up to 50 mL, instead of adding to it (dose 0.0309 to 0.0926 mcg/kg/min → 0.0333 to 0.1 mcg/kg/min)
    Insert: Insert the worked example `expect strength 74.1 mcg/mL`
    ");
    let text = done(&scene, "Make the bag up");
    assert!(
        text.contains("  mix        4 mg made up to 50 mL with glucose-5\n"),
        "{text}"
    );
}

#[test]
fn worked_examples_hold() {
    for (line, words) in [
        ("run        all at 0.06 mcg/kg/min", "expect flow"),
        ("run        all at 3.3 mL/h", "expect dose"),
    ] {
        let scene = scene(&format!(
            "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  |{line}
  then       stop   # so
"
        ));
        let text = done(&scene, words);
        assert!(
            text.contains("  then       stop   # so\n  expect     "),
            "{text}"
        );
        let found = rules(&text);
        assert!(
            !found
                .iter()
                .any(|rule| rule.starts_with("expect.d") || rule.ends_with("coarse")),
            "{text} {found:?}"
        );
    }
}

#[test]
fn a_waiver_waits_for_its_reason() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        all at |0.7 mcg/kg/min
  then       stop
"
    ));
    let text = done(&scene, "Waive `limit.unusual`");
    assert!(
        text.ends_with("  waive      limit.unusual of dose up to 0.7 mcg/kg/min because \"\"\n"),
        "{text}"
    );
    assert!(rules(&text).contains(&"waive.bare"));
    let text = text.replace("\"\"\n", "\"tried\"\n");
    let found = rules(&text);
    assert!(
        !found.contains(&"limit.unusual") && !found.contains(&"waive.unused"),
        "{found:?}"
    );
}

#[test]
fn nothing_at_all_is_no_bound_of_a_waiver() {
    let reference = REFERENCE.replace(
        "usual dose 0.01 to 0.5 mcg/kg/min",
        "usual single dose 1 to 5 mg",
    );
    let page = format!(
        "use \"reference.gtt\"\n\norder press \"Noradrenaline\"\n{STEADY}  mix        4 mg made up to 50 mL with glucose-5\n  run        all over 4 h\n  run        |all over 1 h every 6 h for 2 doses\n  then       stop\n"
    );
    let scene = Fixture::new([
        ("reference.gtt", reference.as_str()),
        ("page.gtt", page.as_str()),
    ])
    .checked();
    let all = scene.checked.findings(&scene.workspace, scene.file);
    assert!(
        all.iter()
            .any(|finding| finding.rule.name == "limit.unusual"),
        "{all:?}"
    );
    assert!(!titles(&scene).contains("down to"), "{}", titles(&scene));
}

#[test]
fn one_unit_with_decimals_is_units() {
    let page = "drug vaso \"V\"\n  supplied   20 units in 1 mL\n  with       saline\nsolution saline \"S\"\n  contains   sodium 0.154 mmol/mL\norder v \"V\"\n  drug       vaso\n  patient    weight 40 to 100 kg\n  route      central vein\n  mix        |50 units made up to 50 mL with saline\n  run        all at 1 unit/h\n  then       stop\n";
    let scene = Fixture::new([("page.gtt", page)]).checked();
    let text = done(&scene, "worked example");
    assert!(text.contains("expect     strength 1.00 units/mL"), "{text}");
    assert!(!rules(&text).contains(&"text.phrase"));
}

#[test]
fn what_is_never_to_be_done_is_not_waived() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        all at |3 mcg/kg/min
  then       stop
"
    ));
    assert!(rules(scene.text()).contains(&"limit.never"));
    assert!(!titles(&scene).contains("Waive `limit.never`"));
}

#[test]
fn a_limit_that_asks_is_answered() {
    let text = "use \"reference.gtt\"

order |press \"Noradrenaline\"
  drug       noradrenaline
  route      central vein
  pump       syringe
  patient    weight 40 to 120 kg
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 3 mcg/kg/min
  then       stop
";
    let header = Fixture::new([("reference.gtt", REFERENCE), ("page.gtt", text)]).checked();
    let text = done(&header, "area       theatre");
    assert!(text.contains("  area       theatre\n"), "{text}");
}

#[test]
fn the_missing_volume_is_inserted() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        |at 3 mL/h over 6 h
  then       stop
"
    ));
    let text = done(&scene, "Insert `18 mL`");
    assert!(
        text.contains("  run        18 mL at 3 mL/h over 6 h\n"),
        "{text}"
    );
}

#[test]
fn a_dose_is_brought_to_the_drugs_unit() {
    let scene = scene(&format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        all at |3 mcg/kg/h
  then       stop
"
    ));
    insta::assert_snapshot!(titles(&scene), @r"
    Mend: Write 0.05 mcg/kg/min instead of 3 mcg/kg/h
    Mend: Waive `unit.not-as-dosed`, once its reason is written
    Insert: Insert the worked example `expect flow 1.50 mL/h at 40 kg`
    Insert: Insert the worked example `expect flow 4.5 mL/h at 120 kg`
    ");
}

#[test]
fn a_wrong_order_becomes_a_specimen() {
    let lines = format!(
        "{STEADY}  mix        4 mg made up to 50 mL with glucose-5
  run        all at |3 mcg/kg/min
  then       stop
"
    );
    let alone = scene(&lines);
    let text = done(&alone, "Make it a specimen");
    assert!(text.contains("\nspecimen press "), "{text}");
    assert!(!rules(&text).contains(&"limit.never"), "{text}");
    let named = scene(&format!("{lines}\nset all \"All\"\n  include    press\n"));
    let text = done(&named, "Keep a copy");
    assert!(text.contains("\norder press "), "{text}");
    assert!(
        text.contains("\n\nspecimen press-wrong \"Noradrenaline\"\n"),
        "{text}"
    );
    assert!(
        text.contains("  expect     finding limit.slip\n\nset all"),
        "{text}"
    );
}

#[test]
fn all_spelling_is_put_right_and_no_dose_changed() {
    let scene = scene(&format!(
        "{STEADY}  mix        |4.0mg made up to 50 mL with glucose-5
  run        all at .05 mcg/kg/min   # kept
  then       stop
"
    ));
    let site = scene.site();
    let offered = fix_all(&site, false).unwrap();
    let made = fix_all(&site, true).unwrap();
    assert_eq!(
        (offered.kind, made.kind),
        (ActionKind::FixAll, ActionKind::FixAll)
    );
    let text = apply(&scene, &made);
    assert!(text.contains("  mix        4 mg made up to 50 mL with glucose-5\n  run        all at 0.05 mcg/kg/min   # kept\n"), "{text}");
}

#[test]
fn half_typed_text_gives_an_answer() {
    let whole = format!(
        "use \"reference.gtt\"\n\norder press \"Noradrenaline\"\n{STEADY}  mix        4 mg added to 50 mL of glucose-5, counted as 50 mL
  run        all at 3 mL/h at 𝕏
  expect     flow é
"
    );
    for (end, _) in whole.char_indices() {
        let scene =
            Fixture::new([("reference.gtt", REFERENCE), ("page.gtt", &whole[..end])]).checked();
        let end = u32::try_from(end).unwrap();
        actions(&scene.site(), gutta_notation::Span::new(end, end), |_| true);
    }
}
