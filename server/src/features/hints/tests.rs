//! What stands behind the lines.

use gutta_notation::Span;
use insta::assert_snapshot;

use super::{hints, tooltip};
use crate::features::harness::Fixture;

const REFERENCE: &str = "\
pump syringe \"Syringe pump\"
  flow       0.1 to 200 mL/h in steps of 0.1 mL/h

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

solution saline \"Sodium chloride 0.9 %\"
  contains   sodium 0.154 mmol/mL

giving-set macro \"Gravity giving set\"
  drops      20 per mL

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 1 mcg/kg/min
  never strength above 16 mcg/mL by peripheral vein
  never total above 100 mg per day

drug magnesium-sulfate \"Magnesium sulfate\"
  equals     1 g, 4.06 mmol
  supplied   50 % in 10 mL
  usual single dose up to 4 g

";

/// The lines of a text behind the reference, with their hints.
fn shown(fixture: &Fixture, from: usize) -> String {
    let source = fixture.site().source();
    let end = u32::try_from(source.text.len()).unwrap();
    let found = hints(fixture.site(), Span::new(0, end));
    let mut shown = String::new();
    let mut at = 0;
    for line in source.text.split_inclusive('\n') {
        let hint = found.iter().find(|hint| {
            let offset = hint.offset as usize;
            (at..at + line.len()).contains(&offset)
        });
        if at >= from && !line.trim().is_empty() {
            shown.push_str(line.trim_end());
            if let Some(hint) = hint {
                shown.push_str(&format!("  \u{ab}{}\u{bb}", hint.label));
            }
            shown.push('\n');
        }
        at += line.len();
    }
    shown
}

fn behind(text: &str) -> String {
    let fixture = Fixture::of(&format!("{REFERENCE}{text}"));
    shown(&fixture, REFERENCE.len())
}

const ORDER: &str = "\
order noradrenaline \"Noradrenaline\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  bolus      1 mL over 1 min
  run        all at 0.05 mcg/kg/min
  adjust     0.01 to 0.5 mcg/kg/min by 0.01 mcg/kg/min every 5 min
  change bag every 24 h
  then       renew
  expect     flow 2.63 mL/h at 70 kg
  expect     strength 80 mcg/mL
";

#[test]
fn behind_an_order() {
    assert_snapshot!(behind(ORDER));
}

#[test]
fn at_the_weight_that_is_set() {
    let mut fixture = Fixture::of(&format!("{REFERENCE}{ORDER}"));
    fixture.settings.hints.weight = Some("70 kg".to_owned());
    assert_snapshot!("at_70_kg", shown(&fixture, REFERENCE.len()));
    fixture.settings.hints.weight = Some("7 kg".to_owned());
    assert_snapshot!("at_7_kg", shown(&fixture, REFERENCE.len()));
}

#[test]
fn behind_other_bags_and_runs() {
    assert_snapshot!(behind(
        "\
order fluid
  giving-set macro
  hang       1 L of saline
  run        all over 8 h
  then       stop

order counted
  drug       noradrenaline
  patient    weight 40 to 120 kg
  mix        4 mg added to 250 mL of glucose-5, counted as 250 mL
  run        all at 10 mL/h
  then       stop

order lidded
  drug       magnesium-sulfate
  patient    weight 40 to 120 kg
  pump       syringe
  mix        50 mg/kg, at most 4 g, added to 100 mL of saline
  run        all over 20 min
  then       stop

order too-slow
  drug       noradrenaline
  patient    weight 1 to 120 kg
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop
"
    ));
}

#[test]
fn behind_a_drug() {
    let fixture = Fixture::of(REFERENCE);
    let from = REFERENCE.find("drug noradrenaline").unwrap();
    assert_snapshot!(shown(&fixture, from));
}

#[test]
fn an_order_that_is_not_complete_shows_no_number() {
    for broken in [
        ORDER.replace("50 mL with", "50 with"),
        ORDER.replace("route      central vein", "rout central vein"),
        ORDER.replace("drug       noradrenaline", "drug       adrenaline"),
        ORDER.replace("  patient    weight 40 to 120 kg\n", ""),
    ] {
        assert!(!behind(&broken).contains('\u{ab}'), "{}", behind(&broken));
    }
}

#[test]
fn none_where_they_are_turned_off() {
    let mut fixture = Fixture::of(&format!("{REFERENCE}{ORDER}"));
    fixture.settings.hints.enabled = false;
    assert!(!shown(&fixture, 0).contains('\u{ab}'));
}

#[test]
fn a_tooltip_holds_the_working_of_its_own_hint() {
    let fixture = Fixture::of(&format!("{REFERENCE}{ORDER}"));
    let end = u32::try_from(fixture.site().source().text.len()).unwrap();
    let found = hints(fixture.site(), Span::new(0, end));
    let run = found
        .iter()
        .find(|hint| hint.label.contains("(pump"))
        .unwrap();
    assert_snapshot!(tooltip(fixture.site(), run.line, &run.label).unwrap());
    assert_eq!(tooltip(fixture.site(), run.line, "another"), None);
    assert_eq!(tooltip(fixture.site(), end + 9, &run.label), None);
}

#[test]
fn half_typed_lines_are_answered_everywhere() {
    let text = format!("{REFERENCE}{ORDER}");
    for end in (REFERENCE.len()..text.len()).step_by(7) {
        let fixture = Fixture::of(&text[..end]);
        let end = u32::try_from(end).unwrap();
        for hint in hints(fixture.site(), Span::new(0, end)) {
            assert!(hint.offset <= end);
            tooltip(fixture.site(), hint.line, &hint.label);
        }
    }
}

/// The example hospital, each of its files by path.
fn examples() -> Vec<(String, String)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut folders = vec![root.clone()];
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "gtt") {
                let name = path.strip_prefix(&root).unwrap().to_str().unwrap();
                files.push((name.to_owned(), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    files.sort();
    files
}

/// Every run of an order of the example hospital has its hint, and a tooltip
/// that ends with the caution; every place of its files an answer.
#[test]
fn the_example_hospital() {
    let files = examples();
    let borrowed = files.iter().map(|(path, text)| (&**path, &**text));
    let mut fixture = Fixture::new(borrowed);
    let (mut runs, mut told) = (0, 0);
    for (path, text) in &files {
        fixture.file = fixture.workspace.file_at(path).unwrap();
        let end = u32::try_from(text.len()).unwrap();
        let found = hints(fixture.site(), Span::new(0, end));
        if std::env::var_os("GUTTA_SHOW").is_some() {
            println!("{path}\n{}", shown(&fixture, 0));
        }
        for hint in &found {
            let line = text[hint.line as usize..].trim_start();
            told += usize::from(line.starts_with("run "));
            let tooltip = tooltip(fixture.site(), hint.line, &hint.label);
            let tooltip = tooltip.unwrap_or_else(|| panic!("{path}: {line}"));
            let cautioned = tooltip.ends_with(&format!("*{}*", crate::features::CAUTION));
            assert!(cautioned, "{path}: {line}: {tooltip}");
        }
        if !path.starts_with("specimens") {
            let lines = text.lines().map(str::trim_start);
            runs += lines.filter(|line| line.starts_with("run ")).count();
            for at in (0..end).step_by(11) {
                crate::features::hover::hover(fixture.site(), at);
            }
        }
    }
    assert!(runs > 100, "{runs}");
    assert!(told >= runs, "{told} of {runs} runs have a hint");
}
