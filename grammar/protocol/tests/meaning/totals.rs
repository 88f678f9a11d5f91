//! Totals: over the phases, per day, with repeats, boluses and renewals.

use crate::support::assert_values;

/// Total is all drug that reaches the patient, over the phases.
#[test]
fn over_phases() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 40 to 100 kg
  phase      first
    mix      15 mg/kg added to 200 mL of glucose-5
    run      all over 60 min
  phase      second
    mix      5 mg/kg added to 500 mL of glucose-5
    run      all over 4 h
  phase      third
    mix      10 mg/kg added to 1 L of glucose-5
    run      all over 16 h
  then       stop
"#,
        "
        total mg/kg = 30
        total mg at 50 kg = 1500
        total mg per day at 50 kg = 1500
        time h in second = 4
        flow mL/h in first at 40 kg = 260
        fluid mL at 40 kg = 1820
        glucose g at 40 kg = 85
        ",
    );
}

/// A phase with no bag of its own goes on with what is left of the bag above.
#[test]
fn a_phase_goes_on_with_the_bag_above() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 100 mL with saline
  phase      fast
    run      20 mL at 40 mL/h
  phase      slow
    run      all at 10 mL/h
  then       stop
"#,
        "
        volume mL in fast = 20
        volume mL in slow = 80
        time h in slow = 8
        total mg = 40
        ",
    );
}

/// `per day` is the most in any 24 hours: of a steady run, 24 hours of it.
#[test]
fn per_day_of_a_renewed_bag() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 50 mL with saline
  run        all at 2 mg/h
  then       renew
"#,
        "
        total mg per day = 48
        total mg = endless
        fluid mL per day = 60
        ",
    );
}

/// A bolus counts, and so does a bag that ends within the day.
#[test]
fn per_day_with_a_bolus() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 40 mL with saline
  bolus      4 mg over 1 h
  run        all at 1 mg/h
  then       renew
"#,
        "
        total mg per day = 27
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 40 mL with saline
  run        all at 1 mg/h
  then       stop
"#,
        "
        total mg per day = 24
        total mg = 40
        ",
    );
}

/// Repeats: a fresh bag each time; three in any day at every 8 hours.
#[test]
fn per_day_of_repeats() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 50 mL with saline
  run        all over 1 h every 8 h
"#,
        "
        total mg per day = 120
        total mg = endless
        fluid mL per day = 150
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 50 mL with saline
  run        all over 1 h every 8 h for 5 doses
"#,
        "
        total mg per day = 120
        total mg = 200
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 50 mL with saline
  run        all over 1 h every 12 h for 3 days
"#,
        "
        total mg = 240
        total mg per day = 80
        ",
    );
}

/// `then keep open RATE` without a solution runs the drug, and counts.
#[test]
fn a_drug_kept_open_counts() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 40 mL with saline
  run        10 mL over 1 h
  then       keep open 1 mL/h
"#,
        "
        total mg = 40
        total mg per day = 33
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 40 mL with saline
  run        all over 1 h
  then       keep open 5 mL/h with saline
"#,
        "
        total mg = 40
        fluid mL per day = 155
        ",
    );
}

/// Fluid is runs, boluses, flushes and keep-open; not priming.
#[test]
fn fluid_is_what_reaches_the_patient() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 100 mL with saline
  prime      20 mL
  bolus      10 mL over 5 min
  run        all over 1 h
  flush      15 mL with saline
  then       stop
"#,
        "
        fluid mL = 95
        fluid mL per day = 95
        total mg = 38
        ",
    );
}

/// Strength of an electrolyte is the sum of what is in the bag, the diluent's
/// and the drug's share included.
#[test]
fn electrolytes_add_up() {
    assert_values(
        r#"
order a "A"
  drug       potassium-chloride
  patient    weight 50 to 100 kg
  mix        20 mmol made up to 500 mL with saline
  run        all over 4 h
  then       stop
"#,
        "
        potassium mmol = 20
        potassium mmol/mL = 1/25
        sodium mmol = 3773/50
        potassium mmol/kg per day at 50 kg = 2/5
        ",
    );
}

/// What keeps the vein open and what flushes the line bring their own.
#[test]
fn substances_come_from_every_fluid() {
    assert_values(
        r#"
solution mixed-k "Glucose with potassium"
  contains   potassium 0.02 mmol/mL

order a "A"
  hang       100 mL of glucose-5
  run        all over 1 h
  flush      20 mL with saline
  then       keep open 20 mL/h with mixed-k
"#,
        "
        potassium mmol per day = 48/5
        sodium mmol = 77/25
        glucose g = 5
        ",
    );
}

/// The last of a course, and what goes on after it: from 48 h on 100 mg and 23
/// h at 10 mg/h. Within a bolus: from 30 min on 5 mg and 24 times 25 mg.
#[test]
fn per_day_beside_repeats() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  phase      course
    mix      100 mg made up to 50 mL with saline
    run      all over 1 h every 24 h for 3 doses
  phase      upkeep
    mix      200 mg made up to 100 mL with saline
    run      all over 20 h
  then       renew
"#,
        "
        total mg per day = 330
        total mg = endless
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  phase      course
    mix      100 mg made up to 50 mL with saline
    run      all over 1 h every 24 h for 6 doses
  phase      upkeep
    mix      200 mg made up to 100 mL with saline
    run      all over 20 h
  then       renew
"#,
        "
        total mg per day = 330
        ",
    );
    assert_values(
        r#"
order a "A"
  drug       testamine
  mix        100 mg made up to 20 mL with saline
  bolus      10 mg over 1 h
  run        5 mL over 30 min every 1 h
"#,
        "
        total mg per day = 605
        ",
    );
}

/// 1 mg of a weak bag stands in the line; what takes its place has left its bag.
#[test]
fn no_more_than_the_bags_held() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  phase      weak
    mix      6 mg made up to 12 mL with saline
    prime    2 mL
    run      10 mL over 1 h
  phase      strong
    mix      20 mg made up to 10 mL with saline
    run      all over 1 h
  phase      rinse
    hang     50 mL of saline
    run      all over 1 h
  then       stop
"#,
        "
        total mg = 26
        ",
    );
}
