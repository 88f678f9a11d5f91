//! Which limits of a substance hold, and what is said where they cannot. Every
//! number is by hand.

use super::tests::{FLUIDS, assert_order};
use crate::harness::{assert_findings, assert_findings_in};

/// How much 20 mmol of the drug take up is not stated, so neither is how much
/// potassium comes with it.
#[test]
fn how_much_a_bag_holds_may_not_be_known() {
    assert_findings(
        r#"
use "tarnwick.gtt"

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  contains   potassium 2 mmol/mL
  usual dose 1 to 100 mmol/h

ingredient potassium "Potassium"
  never dose above 10 mmol/h

order ready-made "Ready made"
  drug       kalium
  area       ward
  route      central vein
  pump       volumetric
  premixed   40 mmol in 100 mL of saline
  run        all over 8 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.not-checked: `never dose above 10 mmol/h` of potassium was not checked: it is not stated how much of it is in the bag (what is its drug `supplied` as?).
  then       stop
"#,
    );
}

/// Sodium, which goes with nearly everything, is limited where it is named: 125
/// mL/h of 154 mmol/L are 19.25 mmol/h. Glucose is counted by mass: 125 mL/h of
/// 50 mg/mL are 6.25 g/h, 150 g in a day, 3.75 g/kg at 40 kg; 3 g/kg at 50 kg.
#[test]
fn sodium_and_glucose() {
    assert_findings(
        r#"
use "tarnwick.gtt"

ingredient sodium "Sodium"
  usual dose  up to 10 mmol/h
  never dose  above 19 mmol/h

ingredient glucose "Glucose"
  never total above 3 g/kg per day

order saline-litre "Saline"
  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all over 8 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The sodium that this order gives is 19.3 mmol/h; never above 19 mmol/h.
  then       renew

order glucose-litre "Glucose"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: Below 50 kg the glucose that this order gives in 24 h is more than 3 g/kg, the most ever allowed: 3.75 g/kg at 40 kg.
  area       ward
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
  hang       1 L of glucose-5
  run        all over 8 h
  then       renew
"#,
    );
}

/// The drug with a limit of its own.
fn limited() -> String {
    let usual = FLUIDS.replace("usual dose 1 to 100", "usual dose 1 to 10");
    usual.replace("high-alert", "never dose above 10 mmol/h\n  high-alert")
}

/// An ingredient that says nothing of how fast leaves a high-alert drug's limit in
/// force for it; one that does takes its place.
#[test]
fn a_measure_takes_the_place_of_the_drugs() {
    let text = |limit: &str, mark: &str| {
        format!(
            r#"{}
ingredient potassium "Potassium"
  {limit}

order maintenance "Maintenance"
  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline-kalium
  run        all over 2 h
{mark}  then       stop
"#,
            limited()
        )
    };
    let told = "  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 20 mmol/h; never above 10 mmol/h.\n";
    assert_findings(&text("never strength above 80 mmol/L", told));
    assert_findings(&text("usual dose up to 20 mmol/h", told));
    assert_findings(&text("never dose above 20 mmol/h", ""));
    // Nor does it where it does not hold.
    let elsewhere = "never dose above 20 mmol/h by central vein";
    assert_findings(&text(elsewhere, told));
}

/// The drug of the order passes its own limit by as much.
#[test]
fn one_slip_is_one_finding() {
    let order = r#"
order kalium-fast "Potassium chloride"
  drug       kalium
  area       ward
  route      central vein
  pump       volumetric
  mix        40 mmol made up to 100 mL with saline
  run        all over 2 h
"#;
    let drugs = limited();
    assert_findings(&format!(
        r#"{drugs}
ingredient potassium "Potassium"
  never dose above 10 mmol/h
{order}  ^^^^^^^^^^^^^^^^^^^^^^^ limit.never: 20 mmol/h; never above 10 mmol/h.
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
                      ^^^ limit.slip
  then       stop
"#
    ));
    assert_findings(&format!(
        r#"{drugs}
ingredient potassium "Potassium"
  never dose above 5 mmol/h
{order}  ^^^^^^^^^^^^^^^^^^^^^^^ limit.never: 20 mmol/h; never above 10 mmol/h.
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
                      ^^^ limit.slip
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: 20 mmol/h; never above 5 mmol/h.
  then       stop
"#
    ));
}

/// It holds wherever it stands, and is not taken for read where it was not.
#[test]
fn in_a_file_that_nobody_uses() {
    let order = r#"
order maintenance "Maintenance"
MARKS  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline-kalium
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 20 mmol/h; never above 10 mmol/h.
  then       stop
"#;
    let limit = "ingredient potassium\n  never dose above 10 mmol/h\n";
    let text = |marks: &str| format!("{FLUIDS}{}", order.replace("MARKS", marks));
    assert_findings_in(&[("far.gtt", limit)], &text(""));
    let unread = "ingredient potassium\n  never dose above 10 mmol/h\n  never tota above 5 mmol\n";
    assert_findings_in(
        &[("far.gtt", unread)],
        &text(
            "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: This order gives potassium, and a line of its `ingredient` could not be used: not all of its limits were checked.\n",
        ),
    );
}

/// What the order leaves open counts as fulfilled, and is asked for.
#[test]
fn a_condition_that_the_order_leaves_open() {
    assert_findings(&format!(
        r#"{FLUIDS}
ingredient potassium "Potassium"
  never dose above 10 mmol/h by peripheral vein
  never dose above 5 mmol/h aged 0 to 18 years

order maintenance "Maintenance"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unanswered: The order does not state by which route potassium is given, and a limit of it depends on it.
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unanswered: The order does not state the age of the patients, and a limit of potassium depends on it.
  area       ward
  pump       volumetric
  hang       1 L of saline-kalium
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 20 mmol/h; never above 5 mmol/h.
  then       stop
"#
    ));
}

/// Each phase is asked for its own route: 20 mmol/h by the second.
#[test]
fn a_route_of_a_phase() {
    assert_order(
        "never dose above 10 mmol/h by peripheral vein\n  never total above 30 mmol per day by peripheral vein",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: MORE
  phase      first
    route    central vein
    hang     500 mL of saline
    run      all over 1 h
  phase      second
    route    peripheral vein
    hang     1 L of saline-kalium
    run      all over 5 h
  then       stop
"
        .replace(
            "MORE",
            "The potassium that this order gives in 24 h is 40 mmol; never above 30 mmol.",
        )
        .as_str(),
    );
}
