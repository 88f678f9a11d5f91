//! What another setting than the first changes, and what it leaves as ordered.

use crate::support::{assert_values, steps};

const BY_TIME: &str = r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 40 mL with saline
  run        all over 20 h
  adjust     1 to 4 mg/h by 1 mg/h every 6 h
  then       renew
"#;

/// A run stated by a time can be adjusted as one stated by the dose can.
#[test]
fn a_run_set_by_a_time_is_adjusted() {
    let values = "
        flow mL/h = 2
        total mg per day = 48
        flow mL/h at 4 mg/h = 4
        time h at 4 mg/h = 10
        dose mg/h at 4 mg/h = 4
        total mg per day at 4 mg/h = 96
        fluid mL per day at 4 mg/h = 96
        ";
    assert_values(BY_TIME, values);
    let by_dose = BY_TIME.replace("all over 20 h", "all at 2 mg/h");
    assert_values(&by_dose, values);
    for order in [BY_TIME, &by_dose] {
        let at = |what| steps(order, "70 kg at 4 mg/h", what);
        assert!(at("runs dry").ends_with("40 mL ÷ 4 mL/h = 10 h; runs dry 10 h"));
        assert!(at("bags").ends_with("bags 2.4 per day"));
    }
}

/// What cannot be adjusted stays as ordered where something else can be.
#[test]
fn a_load_that_cannot_be_adjusted_stays() {
    let order = r#"
order a "A"
  drug       testamine
  mix        400 mg made up to 400 mL with saline
  phase      load
    run      100 mg over 20 min
  phase      keep
    run      all at 10 mg/h
    adjust   5 to 20 mg/h by 5 mg/h every 1 h
  then       stop
"#;
    let values = "
        flow mL/h at 20 mg/h in load = 300
        time min at 20 mg/h in load = 20
        flow mL/h at 20 mg/h in keep = 20
        time h at 20 mg/h in keep = 15
        total mg per day at 20 mg/h = 400
        ";
    assert_values(order, values);
    let by_rate = order.replace("100 mg over 20 min", "100 mg at 300 mg/h");
    assert_values(&by_rate, values);
    let flows = steps(&by_rate, "70 kg at 20 mg/h", "flow");
    let load = flows.lines().next().unwrap();
    assert!(
        load.ends_with("300 mg/h ÷ 1 mg/mL = 300 mL/h; flow 300 mL/h"),
        "{load}"
    );
}

/// Where nothing can be adjusted, a setting is asked of what is set by a rate,
/// but for loads beside it; a time stays what it is.
#[test]
fn without_an_adjust_rates_alone_are_asked() {
    let order = r#"
order a "A"
  drug       testamine
  mix        400 mg made up to 400 mL with saline
  phase      load
    purpose  loading
    run      100 mg at 300 mg/h
  phase      keep
    run      all at 10 mg/h
  then       stop
"#;
    assert_values(
        order,
        "
        flow mL/h at 20 mg/h in load = 300
        flow mL/h at 20 mg/h in keep = 20
        ",
    );
    let by_time = BY_TIME.replace("  adjust     1 to 4 mg/h by 1 mg/h every 6 h\n", "");
    assert_values(
        &by_time,
        "
        flow mL/h at 4 mg/h = 2
        total mg per day at 4 mg/h = 48
        ",
    );
}
