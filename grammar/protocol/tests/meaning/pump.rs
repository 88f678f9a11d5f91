//! The pump's flow.

use crate::support::assert_values;

fn at_flow(flow: &str, rest: &str) -> String {
    format!(
        r#"
order a "A"
  drug       testamine
  pump       volumetric
  mix        40 mg made up to 500 mL with saline
  run        all at {flow}{rest}
  then       renew
"#
    )
}

/// Rounded half up to the step of the range that the flow falls in.
#[test]
fn half_up_to_the_step() {
    for (flow, set) in [
        ("3.15 mL/h", "16/5"),
        ("3.14 mL/h", "31/10"),
        ("3.1 mL/h", "31/10"),
        ("0.5 mL/h", "1/2"),
        ("250.5 mL/h", "251"),
        ("250.4 mL/h", "250"),
        ("900 mL/h", "900"),
    ] {
        assert_values(&at_flow(flow, ""), &format!("pump flow mL/h = {set}"));
    }
}

/// In the seam between two ranges: the nearest settable value, half up.
#[test]
fn in_the_seam() {
    assert_values(&at_flow("99.94 mL/h", ""), "pump flow mL/h = 999/10");
    assert_values(&at_flow("99.95 mL/h", ""), "pump flow mL/h = 100");
}

/// Never rounded to nothing, nor lifted to the least: outside there is none.
#[test]
fn outside_there_is_none() {
    assert_values(&at_flow("0.46 mL/h", ""), "pump flow mL/h = none");
    assert_values(&at_flow("900.1 mL/h", ""), "pump flow mL/h = none");
}

/// Down where rounding up would pass a cap or a ceiling.
#[test]
fn down_under_a_bound() {
    assert_values(
        &at_flow("3.15 mL/h, at most 3.16 mL/h", ""),
        "pump flow mL/h = 31/10",
    );
    assert_values(
        &at_flow("3.15 mL/h", "\n  ceiling    3.16 mL/h"),
        "pump flow mL/h = 31/10",
    );
    assert_values(
        &at_flow("3.15 mL/h", "\n  ceiling    3.2 mL/h"),
        "pump flow mL/h = 16/5",
    );
}

/// Down where rounding up would pass a `never above`, up where rounding down
/// would pass a `never below`.
#[test]
fn on_the_safe_side_of_a_never() {
    let order = |flow: &str, limit: &str| {
        format!(
            r#"
drug boundamine "A drug with a bound"
  supplied   40 mg in 4 mL
  never flow {limit}

order a "A"
  drug       boundamine
  pump       volumetric
  mix        40 mg made up to 500 mL with saline
  run        all at {flow}
  then       renew
"#
        )
    };
    assert_values(
        &order("3.15 mL/h", "above 3.16 mL/h"),
        "pump flow mL/h = 31/10",
    );
    assert_values(
        &order("3.14 mL/h", "below 3.14 mL/h"),
        "pump flow mL/h = 16/5",
    );
    assert_values(
        &order("3.14 mL/h", "below 3.1 mL/h"),
        "pump flow mL/h = 31/10",
    );
}
