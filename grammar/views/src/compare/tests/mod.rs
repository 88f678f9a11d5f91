//! A small synthetic history: each kind of change is found, and nothing else.

mod always;
mod cost;
mod every;
mod moved;
mod stated;

use gutta_protocol::{House, Workspace};

use super::{Change, Comparison, Fate, Greatest, Subject, Turn, compare};

/// Invented, as all numbers here.
pub(super) const BASE: &str = r#"area icu "Intensive care"
  patient    weight 40 to 160 kg
  ceiling    60 mL/h

pump syringe "Syringe pump"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
  accuracy   2 %

giving-set macro "Gravity giving set"
  drops      20 per mL

solution saline "Sodium chloride 0.9 %"
  osmolarity 308 mOsm/L

solution glucose-5 "Glucose 5 %"
  osmolarity 278 mOsm/L

drug testamine "Testamine"
  supplied   50 mg in 5 mL
  with       saline, glucose-5
  only by    central vein, peripheral vein
  usual dose       0.5 to 5 mg/h
  never dose       above 20 mg/h
  never strength   above 4 mg/mL by peripheral vein
  never undiluted
  high-alert

order steady "Testamine, steady"
  drug       testamine
  area       icu
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  prime      2 mL
  run        all at 0.05 mg/kg/h, at most 5 mg/h
  adjust     0.02 to 0.1 mg/kg/h by 0.02 mg/kg/h every 30 min
  ceiling    40 mL/h
  then       renew
  monitor    "the pulse every hour"
  waive flow.step-error because "tried out on the ward" until 2027-01-01
  expect     flow 2.5 mL/h at 50 kg
  review by  2027-11-01

order two "Testamine, in two phases"
  drug       testamine
  area       icu
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  phase      first
    run      10 mL over 30 min
  phase      second
    run      20 mL at 5 mL/h
  then       stop

set both "Both"
  area       icu
  include    steady, two
  fluid      up to 30 mL/kg/day
"#;

pub(super) fn workspace(text: &str) -> Workspace {
    Workspace::new(vec![("a.gtt", text)], House::default())
}

pub(super) fn compared(before: &str, after: &str) -> Comparison {
    compare(&workspace(before), &workspace(after))
}

/// The base with one stretch of it replaced.
#[track_caller]
pub(super) fn with(from: &str, to: &str) -> String {
    assert_eq!(BASE.matches(from).count(), 1, "{from}");
    BASE.replacen(from, to, 1)
}

/// What changed, a line each; those of a subject below its name.
pub(super) fn told(comparison: &Comparison) -> String {
    let mut lines = Vec::new();
    for subject in &comparison.subjects {
        lines.push(head(subject));
        lines.extend(subject.changes.iter().map(line));
    }
    lines.extend(
        comparison
            .not_compared
            .iter()
            .map(|told| format!("? {told}")),
    );
    lines.join("\n")
}

fn head(subject: &Subject) -> String {
    let mark = if subject.marked { "!" } else { "-" };
    let fate = match &subject.fate {
        Fate::Changed => String::new(),
        Fate::Renamed { from } => format!(" renamed from {from}"),
        fate => format!(" {}", format!("{fate:?}").to_lowercase()),
    };
    format!("{mark} {}{fate}", subject.name)
}

fn line(change: &Change) -> String {
    let mark = if change.marked { "!" } else { "-" };
    let phase = change.phase.as_ref().map(|phase| format!(" ({phase})"));
    let mut line = format!("  {mark} {}{}", change.what, phase.unwrap_or_default());
    for row in &change.rows {
        let at = row
            .at
            .as_ref()
            .map(|at| format!(" {at}"))
            .unwrap_or_default();
        let side = |told: &Option<super::ValueText>| {
            told.as_ref()
                .map_or_else(|| "·".to_owned(), |told| told.text.clone())
        };
        line.push_str(&format!(
            " |{at} {} → {}",
            side(&row.before),
            side(&row.after)
        ));
    }
    if let Some(Greatest { ratio, at, certain }) = &change.greatest {
        assert!(certain, "{line}");
        line.push_str(&format!(" | ×{ratio:?}"));
        line.push_str(
            &at.as_ref()
                .map(|at| format!(" at {at}"))
                .unwrap_or_default(),
        );
    }
    match change.effect {
        super::Effect::Neither => {}
        effect => line.push_str(&format!(" | {}", format!("{effect:?}").to_lowercase())),
    }
    if change.turn != Turn::Changed {
        line.push_str(&format!(
            " | {}",
            format!("{:?}", change.turn).to_lowercase()
        ));
    }
    line
}

/// Asserts all that is told, blanks at the lines' starts apart.
#[track_caller]
pub(super) fn assert_told(before: &str, after: &str, wanted: &str) {
    let strip = |text: &str| {
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        lines.collect::<Vec<_>>().join("\n")
    };
    let found = told(&compared(before, after));
    assert_eq!(strip(&found), strip(wanted), "\n{found}\n");
}
