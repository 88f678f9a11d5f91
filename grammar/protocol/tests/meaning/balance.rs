//! The balance of a bag.

use crate::support::assert_values;

/// A `bolus` and each `run` leave the bag, in the order written, and `all` is
/// what is left at that moment; `prime` leaves the bag too.
#[test]
fn all_is_what_is_left() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 50 to 100 kg
  mix        40 mg made up to 100 mL with saline
  prime      10 mL
  bolus      8 mg over 5 min
  run        all at 10 mL/h
  then       stop
"#,
        "
        strength mg/mL = 2/5
        draw mL = 4
        bolus mL = 20
        bolus mg = 8
        bolus time min = 5
        volume mL = 70
        time h = 7
        total mg = 36
        fluid mL = 90
        ",
    );
}

/// `added to`: the final volume is the volume plus the drug's own.
#[test]
fn added_to_counts_the_drugs_own_volume() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg added to 96 mL of saline
  run        all over 1 h
  then       stop
"#,
        "
        strength mg/mL = 2/5
        flow mL/h = 100
        total mg = 40
        ",
    );
}

/// With `counted as`, strength and flow go by the counted volume, the balance
/// by the true one.
#[test]
fn counted_as_is_by_name_and_in_truth() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        200 mg added to 250 mL of saline, counted as 250 mL
  run        all at 16 mg/h
  then       stop
"#,
        "
        strength mcg/mL = 800
        true strength mcg/mL = 20000/27
        flow mL/h = 20
        volume mL = 270
        time h = 27/2
        total mg = 200
        ",
    );
}
