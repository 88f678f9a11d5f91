use gutta_protocol::{House, Workspace};

use gutta_quantity::work::Interrupt;

use crate::harness::findings;
use crate::{Checked, Finding, Options, Severity, stories};

const REFERENCE: &str = r#"
pump small "A small pump"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
  flow       100 to 600 mL/h in steps of 1 mL/h
  volume     up to 5,000 mL

area children "Children"
  patient    weight 3 to 40 kg
  ceiling    200 mL/h
  fluid      up to 120 mL/kg/day

solution glucose-5 "Glucose 5 %"
  osmolarity 278 mOsm/L

drug limitamine "A drug with limits"
  dosed in   mcg/kg/min
  supplied   250 mg in 20 mL
  with       glucose-5
  usual dose 2 to 20 mcg/kg/min
  never dose above 40 mcg/kg/min

"#;

/// The causes of an order, each with what follows from it, by rule.
fn told(lines: &str) -> Vec<String> {
    let order = format!(
        "order a \"A\"\n  drug limitamine\n  area children\n  route central vein\n  pump small\n{lines}  then renew\n"
    );
    told_of(&format!("{REFERENCE}{order}"))
}

fn told_of(text: &str) -> Vec<String> {
    let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
    let found = crate::check(&workspace, None, &Options::default());
    by_cause(&found)
}

fn by_cause(found: &[Finding]) -> Vec<String> {
    let loud = found
        .iter()
        .filter(|finding| finding.severity >= Severity::Warning);
    stories(loud)
        .iter()
        .map(|story| {
            let follows: Vec<_> = story.follows.iter().map(|other| other.rule.name).collect();
            match follows.as_slice() {
                [] => story.cause.rule.name.to_owned(),
                _ => format!("{}: {}", story.cause.rule.name, follows.join(" ")),
            }
        })
        .collect()
}

/// 1 mg/mL: at 100 mcg/kg/min 6 mL/kg/h, so 240 mL/h at 40 kg and 144 mL/kg/day; at
/// 10 mcg/kg/min, as the example has it, 6 mL/h at 10 kg. By hand.
#[test]
fn one_wrong_digit_is_one_story() {
    assert_eq!(
        told(
            "  mix 50 mg made up to 50 mL with glucose-5\n  run all at 100 mcg/kg/min\n  expect flow 6 mL/h at 10 kg\n"
        ),
        [
            "limit.never: flow.above-ceiling volume.fluid-load limit.unusual expect.differs limit.slip"
        ],
    );
}

/// The same flows from a bag ten times too weak: no limit of the drug is broken.
#[test]
fn a_wrong_bag_is_one_story_too() {
    assert_eq!(
        told(
            "  mix 50 mg made up to 500 mL with glucose-5\n  run all at 10 mcg/kg/min\n  expect strength 1 mg/mL\n  expect flow 6 mL/h at 10 kg\n"
        ),
        ["flow.above-ceiling: volume.fluid-load expect.differs expect.differs"],
    );
}

/// A dose ten times too high, and a worked example that was wrong without it:
/// nothing that one number would mend.
#[test]
fn what_no_change_of_the_number_mends_stands_alone() {
    assert_eq!(
        told(
            "  mix 50 mg made up to 50 mL with glucose-5\n  run all at 100 mcg/kg/min\n  expect strength 2 mg/mL\n"
        ),
        [
            "limit.never: flow.above-ceiling volume.fluid-load limit.unusual limit.slip",
            "expect.differs",
        ],
    );
}

/// Two phases, each with its bag and each wrong by itself.
#[test]
fn two_wrong_numbers_are_two_stories() {
    let phases = "  phase one\n  mix 50 mg made up to 50 mL with glucose-5\n  run 10 mL at 100 mcg/kg/min\n  phase two\n  mix 50 mg made up to 50 mL with glucose-5\n  run 10 mL at 200 mcg/kg/min\n";
    let told = told(phases);
    let heads: Vec<_> = told
        .iter()
        .filter(|story| story.starts_with("limit.never"))
        .collect();
    assert_eq!(heads.len(), 2, "{told:?}");
    assert!(
        heads.iter().all(|story| story.contains("limit.unusual")),
        "{told:?}"
    );
}

/// The limits of a drug that is given again, or over a time.
fn told_of_limits(limits: &str, lines: &str) -> Vec<String> {
    told_of(&format!(
        "solution glucose-5 \"Glucose 5 %\"\n  osmolarity 278 mOsm/L\n\ndrug limitamine \"A drug with limits\"\n  supplied   250 mg in 20 mL\n  with       glucose-5\n{limits}\norder a \"A\"\n  drug limitamine\n  patient weight 40 to 100 kg\n  route central vein\n{lines}"
    ))
}

/// Every 4 h for 24 h: 600 mg in a day, six times, by hand.
#[test]
fn what_is_given_too_often_is_one_story() {
    assert_eq!(
        told_of_limits(
            "  usual interval 12 to 36 h\n  never interval below 8 h\n  never total above 300 mg per day\n",
            "  mix 100 mg added to 50 mL of glucose-5\n  bolus 2 mL over 5 min, each time\n  run all over 20 min every 4 h for 9 doses\n"
        ),
        ["limit.never: limit.never limit.unusual"],
    );
}

/// 25 mg/kg over 10 h are 2.5 mg/kg/h, and 25 mg/kg in a day; over twice the time
/// the day's total stays, over five times it is 12 mg/kg.
#[test]
fn what_runs_too_fast_is_one_story() {
    assert_eq!(
        told_of_limits(
            "  usual dose 0.6 to 1 mg/kg/h\n  never dose above 1.2 mg/kg/h\n  never total above 22 mg/kg per day\n",
            "  mix 25 mg/kg made up to 500 mL with glucose-5\n  run all over 10 h\n  then stop\n"
        ),
        ["limit.never: limit.never limit.unusual"],
    );
}

/// 0.5 mg/kg/h are 50 mg/h at 100 kg: the cap was to be 20 mg/h.
#[test]
fn a_lid_that_is_too_high_is_one_story() {
    assert_eq!(
        told_of_limits(
            "  usual dose 0.05 to 0.6 mg/kg/h\n  never dose above 20 mg/h\n",
            "  mix 50 mg made up to 50 mL with glucose-5\n  run all at 0.1 mg/kg/h, at most 200 mg/h\n  adjust 0.1, 0.2, 0.5 mg/kg/h every 1 h\n  then renew\n"
        ),
        ["limit.adjust-escapes: run.cap-above-never"],
    );
}

#[test]
fn unknown_names_come_before_what_they_prevent() {
    let text = format!(
        "{REFERENCE}order a \"A\"\n  drug limitamin\n  area childre\n  route central vein\n  mix 50 mg made up to 50 mL with glucose-5\n  run all at 10 mcg/kg/min\n  then renew\n"
    );
    assert_eq!(
        told_of(&text),
        ["name.unknown", "name.unknown: limit.not-checked"]
    );
    let text = text.replace("run all at", "run all a");
    let told = told_of(&text);
    let last = told.last().unwrap();
    assert!(last.ends_with(": limit.not-checked"), "{told:?}");
    assert!(last.starts_with("text.unreadable"), "{told:?}");
}

#[test]
fn the_cause_is_never_lost_where_some_are_waived() {
    let waived = told(
        "  mix 50 mg made up to 50 mL with glucose-5\n  run all at 25 mcg/kg/min\n  expect flow 1.5 mL/h at 10 kg\n  waive limit.unusual of dose up to 25 mcg/kg/min because \"a trial\"\n",
    );
    assert_eq!(waived, ["expect.differs"]);
}

/// What is kept while a file is edited tells the same stories as a fresh check,
/// and those of one cause stand together.
#[test]
fn kept_findings_tell_the_same_stories() {
    let order = "order a \"A\"\n  drug limitamine\n  area children\n  route central vein\n  pump small\n  mix 50 mg made up to 50 mL with glucose-5\n  run all at 100 mcg/kg/min\n  then renew\n  expect flow 6 mL/h at 10 kg\n";
    let text = format!("{REFERENCE}{order}");
    let mut workspace = Workspace::new(vec![("a.gtt", text.as_str())], House::default());
    let mut checked = Checked::new(&workspace, Options::default());
    let file = gutta_protocol::FileId(0);
    assert!(checked.work(&workspace, &Interrupt::default(), || true));
    let before = by_cause(&checked.findings(&workspace, file));
    let change = workspace.edit_file(file, gutta_notation::Span::new(0, 0), "# A line more.\n");
    checked.follow(&workspace, &change);
    assert!(checked.work(&workspace, &Interrupt::default(), || true));
    let after = by_cause(&checked.findings(&workspace, file));
    assert_eq!(before, after);
    assert!(
        before
            .iter()
            .any(|story| story.starts_with("limit.never: ")),
        "{before:?}"
    );
}

#[test]
fn every_finding_is_told_once() {
    let text = include_str!("../tarnwick.gtt").to_owned()
        + "order b \"B\"\n  drug noradrenaline\n  area adult-icu\n  route central vein\n  pump syringe\n  mix 4 mg made up to 50 mL with glucose-5\n  run all at 2.5 mcg/kg/min\n  then renew\n";
    let found = findings(&text);
    let told: usize = stories(&found)
        .iter()
        .map(|story| 1 + story.follows.len())
        .sum();
    assert_eq!(told, found.len());
}
