//! Flow, by dose, time and drip; caps; the dosing weight.

use crate::support::assert_values;

/// Flow of a dose: dose × dosing weight ÷ strength.
#[test]
fn of_a_dose() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 50 to 100 kg
  mix        40 mg made up to 50 mL with saline
  run        all at 5 mcg/kg/min
  then       renew
"#,
        "
        flow mL/h at 70 kg = 105/4
        flow mL/h at 50 kg = 75/4
        flow mL/kg/h at 70 kg = 3/8
        dose mcg/kg/min at 70 kg = 5
        dose mg/h at 70 kg = 21
        dose mg/min at 100 kg = 1/2
        ",
    );
}

/// The dosing weight bounds the weight that drug per kg is reckoned by.
#[test]
fn of_a_dose_by_dosing_weight() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 50 to 150 kg
  dosing weight up to 100 kg
  mix        40 mg made up to 50 mL with saline
  run        all at 5 mcg/kg/min
  then       renew
"#,
        "
        flow mL/h at 99 kg = 297/8
        flow mL/h at 100 kg = 75/2
        flow mL/h at 150 kg = 75/2
        dose mcg/kg/min at 150 kg = 5
        ",
    );
}

/// Flow of a dose by body surface.
#[test]
fn of_a_dose_by_surface() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    surface 0.5 to 2.2 m2
  mix        20 mg/m2 made up to 100 mL with saline
  run        all over 1 h
  then       stop
"#,
        "
        strength mg/mL at 1.5 m2 = 3/10
        flow mL/h at 1.5 m2 = 100
        dose mg/m2/h at 1.5 m2 = 20
        total mg at 1.5 m2 = 30
        draw mL at 1.5 m2 = 3
        ",
    );
}

/// Flow of a time: volume ÷ time. Flow of a drip: drops ÷ drops per mL.
#[test]
fn of_a_time_and_of_a_drip() {
    assert_values(
        r#"
order a "A"
  giving-set macro
  hang       1 L of saline
  run        all over 8 h
  then       stop
"#,
        "
        flow mL/h = 125
        drops drops/min = 125/3
        time h = 8
        fluid mL = 1000
        fluid mL per day = 1000
        ",
    );
    assert_values(
        r#"
order a "A"
  giving-set macro
  hang       500 mL of saline
  run        all at 40 drops/min
  then       stop
"#,
        "
        flow mL/h = 120
        drops drops/min = 40
        time min = 250
        ",
    );
}

/// A volume, or a flow, by actual weight.
#[test]
fn by_actual_weight() {
    assert_values(
        r#"
order a "A"
  patient    weight 5 to 20 kg
  dosing weight up to 10 kg
  hang       500 mL of saline
  run        20 mL/kg at 4 mL/kg/h
  then       stop
"#,
        "
        volume mL at 15 kg = 300
        flow mL/h at 15 kg = 60
        time h at 15 kg = 5
        ",
    );
}

/// A cap caps dose × weight, and goes on binding while the dose is adjusted.
#[test]
fn a_lid_caps_dose_times_weight() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 5 to 100 kg
  mix        40 mg made up to 40 mL with saline
  run        all at 0.3 mg/kg/min, at most 5 mg/min
  adjust     0.1 to 0.5 mg/kg/min by 0.1 mg/kg/min every 5 min
  then       renew
"#,
        "
        flow mL/min at 10 kg = 3
        flow mL/min at 16 kg = 24/5
        flow mL/min at 17 kg = 5
        flow mL/min at 100 kg = 5
        flow mL/min at 10 kg at 0.5 mg/kg/min = 5
        flow mL/min at 20 kg at 0.5 mg/kg/min = 5
        ",
    );
}

/// An amount run: its volume follows from the strength.
#[test]
fn an_amount_is_run() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 10 to 50 kg
  mix        40 mg made up to 100 mL with saline
  run        0.5 mg/kg, at most 20 mg, over 20 min
  then       stop
"#,
        "
        volume mL at 10 kg = 25/2
        volume mL at 40 kg = 50
        volume mL at 50 kg = 50
        flow mL/h at 10 kg = 75/2
        total mg at 50 kg = 20
        ",
    );
}

/// A bag that depends on the weight, its cap on the amount.
#[test]
fn a_bag_by_weight() {
    assert_values(
        r#"
order a "A"
  drug       testamine
  patient    weight 2 to 50 kg
  mix        6 mg/kg, at most 240 mg, made up to 100 mL with saline
  run        all at 1 mL/h
  then       renew
"#,
        "
        strength mg/mL at 10 kg = 3/5
        strength mg/mL at 50 kg = 12/5
        dose mcg/kg/min at 2 kg = 1
        dose mcg/kg/min at 40 kg = 1
        dose mcg/kg/min at 50 kg = 4/5
        draw mL at 10 kg = 6
        ",
    );
}
