//! Substances that an `ingredient` limits. Every number is by hand.

use crate::harness::assert_findings;

pub(super) const FLUIDS: &str = r#"
use "tarnwick.gtt"

solution saline-kalium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

solution kalium-by-mass "Potassium, counted by mass"
  contains   potassium 1.9549 mg/mL
  osmolarity 300 mOsm/L

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline, saline-kalium
  usual dose 1 to 100 mmol/h
  high-alert
"#;

/// An order of these lines, with potassium limited so.
#[track_caller]
pub(super) fn assert_order(limits: &str, lines: &str) {
    assert_findings(&format!(
        r#"{FLUIDS}
ingredient potassium "Potassium"
  {limits}

order maintenance "Maintenance"
{lines}  area       ward
  patient    weight 40 to 100 kg
  pump       volumetric
"#
    ));
}

/// 40 mmol in 2 h are 20 mmol/h; in 4 h they are 10, as much as may be.
#[test]
fn a_hung_fluid() {
    assert_order(
        "never dose above 10 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives is 20 mmol/h; never above 10 mmol/h.
  then       stop
",
    );
    assert_order(
        "never dose above 10 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all over 4 h
  then       stop
",
    );
}

/// 20 mmol of the drug and 0.99 L of 40 mmol/L are 59.6 mmol in 4 h; the drug's own
/// 20 mmol would be within.
#[test]
fn what_a_drug_and_its_diluent_bring_together() {
    assert_order(
        "never dose above 10 mmol/h",
        "  drug       kalium
  route      central vein
  mix        20 mmol made up to 1 L with saline-kalium
  run        all over 4 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives is 14.9 mmol/h; never above 10 mmol/h.
  then       stop
",
    );
}

/// A premixed bag brings what its drug contains, by its amount: 40 mmol in 2 h.
#[test]
fn a_premixed_bag() {
    assert_order(
        "never dose above 10 mmol/h",
        "  drug       kalium
  route      central vein
  premixed   40 mmol in 100 mL of saline
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 20 mmol/h; never above 10 mmol/h.
  then       stop
",
    );
}

/// 20 mmol of the bag and 20 of the flush are 1 mmol/kg at 40 kg, 0.8 at 50 kg.
#[test]
fn a_flush_counts_by_the_day() {
    assert_order(
        "never total above 0.8 mmol/kg per day",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: Below 50 kg the potassium that this order gives in 24 h is more than 0.8 mmol/kg, the most ever allowed: 1 mmol/kg at 40 kg.
  route      peripheral vein
  hang       500 mL of saline-kalium
  run        all over 8 h
  flush      500 mL with saline-kalium
  then       stop
",
    );
    assert_order(
        "never total above 1 mmol/kg per day",
        "  route      peripheral vein
  hang       500 mL of saline-kalium
  run        all over 8 h
  flush      500 mL with saline-kalium
  then       stop
",
    );
}

/// 300 mL/h of 40 mmol/L are 12 mmol/h.
#[test]
fn what_keeps_the_vein_open_flows_too() {
    assert_order(
        "never dose above 10 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       keep open 300 mL/h with saline-kalium
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 12 mmol/h; never above 10 mmol/h.
",
    );
}

/// 125 mL/h of 40 mmol/L are 5 mmol/h, 20 mmol in 4 h; renewed, they have no end.
#[test]
fn in_any_time_and_in_all() {
    assert_order(
        "never total above 18 mmol in any 4 h",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives in 4 h is 20 mmol; never above 18 mmol.
  route      peripheral vein
  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
",
    );
    assert_order(
        "never total above 100 mmol",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives has no end in this order, so it exceeds 100 mmol.
  route      peripheral vein
  hang       1 L of saline-kalium
  run        all over 8 h
  then       renew
",
    );
}

/// The bag holds 20 mmol and 0.99 L of 40 mmol/L: 59.6 mmol/L.
#[test]
fn how_strong_a_bag_and_a_flush_are() {
    assert_order(
        "never strength above 40 mmol/L by peripheral vein",
        "  drug       kalium
  route      peripheral vein
  mix        20 mmol made up to 1 L with saline-kalium
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The strength of potassium is 59.6 mmol/L; never above 40 mmol/L.
  run        all over 8 h
  then       stop
",
    );
    assert_order(
        "never strength above 30 mmol/L",
        "  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  flush      20 mL with saline-kalium
             ^^^^^ limit.substance: The strength of potassium is 40 mmol/L; never above 30 mmol/L.
  then       stop
",
    );
    assert_order(
        "never strength above 30 mmol/L by peripheral vein",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: This order gives potassium, and no `never dose` or `never total` of kalium could be checked for it.
  route      central vein
  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
",
    );
}

/// 100 mL/h are 4 mmol/h: usual is 2, and 5 may never be. At 150 mL/h, 6 mmol/h, one
/// finding tells; a waiver with a bound silences what is unusual.
#[test]
fn what_is_usual_is_a_warning() {
    assert_order(
        "usual dose up to 2 mmol/h\n  never dose above 5 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all at 100 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: The potassium that this order gives is 4 mmol/h, more than the usual maximum of 2 mmol/h.
  then       stop
",
    );
    assert_order(
        "usual dose up to 2 mmol/h\n  never dose above 5 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all at 150 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 6 mmol/h; never above 5 mmol/h.
  then       stop
",
    );
    assert_order(
        "usual dose up to 2 mmol/h\n  never dose above 5 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all at 100 mL/h
  then       stop
  waive      limit.unusual of dose up to 4 mmol/h because \"as agreed\"
",
    );
}

/// 300 mL/h are 12 mmol/h. What is usual is how it starts.
#[test]
fn an_adjustment_is_judged_at_its_highest_step() {
    assert_order(
        "usual dose up to 5 mmol/h\n  never dose above 10 mmol/h",
        "  route      peripheral vein
  hang       1 L of saline-kalium
  run        all at 100 mL/h
  adjust     50 to 300 mL/h by 50 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: At the highest step of `adjust` the potassium that this order gives is 12 mmol/h; never above 10 mmol/h.
  then       renew
",
    );
}

/// 20 mmol in 30 min are 40 mmol/h, by name a load.
#[test]
fn a_load_is_judged_as_it_is_given() {
    assert_order(
        "never dose above 10 mmol/h",
        "  drug       kalium
  route      central vein
  mix        40 mmol made up to 100 mL with saline
  bolus      20 mmol over 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 40 mmol/h; never above 10 mmol/h.
  run        all over 4 h
  then       stop
",
    );
    assert_order(
        "usual dose up to 10 mmol/h\n  never dose above 10 mmol/h except as loading",
        "  drug       kalium
  route      central vein
  mix        40 mmol made up to 100 mL with saline
  bolus      20 mmol over 30 min
  run        all over 4 h
  then       stop
",
    );
}

/// 39.098 mg are 1 mmol: 1.9549 mg/mL are 0.05 mmol/mL. 100 mL/h of it are
/// 5 mmol/h, and 195.49 mg/h.
#[test]
fn two_countings_are_one_sum() {
    assert_order(
        "never dose above 4 mmol/h",
        "  route      peripheral vein
  hang       1 L of kalium-by-mass
  run        all at 100 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 5 mmol/h; never above 4 mmol/h.
  then       stop
",
    );
    assert_order(
        "never dose above 0.19 g/h",
        "  route      peripheral vein
  hang       1 L of kalium-by-mass
  run        all at 100 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 0.195 g/h; never above 0.19 g/h.
  then       stop
",
    );
    assert_order(
        "never total above 60 mmol per day",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives in 24 h is 70 mmol; never above 60 mmol.
  route      peripheral vein
  hang       1 L of kalium-by-mass
  run        all over 8 h
  flush      500 mL with saline-kalium
  then       stop
",
    );
}

/// Activity is tied to nothing, and without a weight nothing is per kg.
#[test]
fn what_cannot_be_compared_is_said() {
    assert_order(
        "never dose above 5 units/h",
        "^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-checked: `never dose above 5 units/h` of potassium was not checked: what contains it is stated in another kind of unit than the limit, and neither an `equals` of the ingredient nor a molar mass converts between the two.
  route      peripheral vein
  hang       1 L of saline-kalium
  run        all at 100 mL/h
  then       stop
",
    );
}

/// 40 mmol in 2 h are 20 mmol/h. Once, they are over before the third hour; every
/// 4 h they go on after it.
#[test]
fn after_the_first_time_repetitions_go_on() {
    assert_order(
        "never dose above 10 mmol/h after the first 3 h\n  never dose above 100 mmol/h",
        "  route      central vein
  hang       1 L of saline-kalium
  run        all over 2 h
  then       stop
",
    );
    assert_order(
        "never dose above 10 mmol/h after the first 3 h\n  never dose above 100 mmol/h",
        "  route      central vein
  hang       1 L of saline-kalium
  run        all over 2 h every 4 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives is 20 mmol/h; never above 10 mmol/h.
",
    );
}
