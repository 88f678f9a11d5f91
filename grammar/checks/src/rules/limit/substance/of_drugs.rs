//! Substances that a high-alert drug limits, which is given for them.

use crate::harness::assert_findings;

const DRUGS: &str = r#"
use "tarnwick.gtt"

solution saline-kalium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline
  LIMITS
  high-alert
"#;

fn assert_order(limits: &str, lines: &str) {
    let drugs = DRUGS.replace("LIMITS", limits);
    assert_findings(&format!(
        r#"{drugs}
order maintenance "Maintenance"
  area       ward
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
{lines}"#
    ));
}

/// 40 mmol in 2 h are 20 mmol/h, by hand.
#[test]
fn a_hung_fluid() {
    assert_order(
        "never dose above 10 mmol/h",
        "  hang       1 L of saline-kalium
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives is 20 mmol/h; never above 10 mmol/h.
  then       stop
",
    );
    assert_order(
        "never dose above 10 mmol/h",
        "  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
",
    );
}

/// 250 mL/h, 10 mmol/h, are 0.25 mmol/kg/h at 40 kg, by hand; 0.2 at 50 kg.
#[test]
fn by_weight_and_what_is_adjusted() {
    assert_order(
        "never dose above 0.2 mmol/kg/h",
        "  hang       1 L of saline-kalium
  run        all at 100 mL/h
  adjust     50 to 250 mL/h by 50 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: Below 50 kg at the highest step of `adjust` the potassium that this order gives is more than 0.2 mmol/kg/h, the most ever allowed: 0.25 mmol/kg/h at 40 kg.
  then       stop
",
    );
}

#[test]
fn what_nothing_limits_is_said() {
    let drugs = DRUGS.replace("LIMITS", "usual dose 5 to 10 mmol/h");
    assert_findings(&format!(
        r#"{drugs}
order maintenance "Maintenance"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: This order gives potassium, and no `never dose` or `never total` of kalium could be checked for it.
  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
"#
    ));
}
