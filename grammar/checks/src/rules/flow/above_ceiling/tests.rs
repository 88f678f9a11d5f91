use crate::harness::{assert_findings, findings};

#[test]
fn the_ceiling_itself_is_allowed() {
    assert_findings(
        r#"
use "tarnwick.gtt"

area day-ward "Day ward"
  patient    weight 20 to 100 kg
  ceiling    150 mL/h
  bolus ceiling 300 mL/h

order saline-half "Saline"
  area       day-ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  bolus      100 mL over 20 min
  run        all at 1.5 mL/kg/h
  adjust     1 to 1.5 mL/kg/h by 0.25 mL/kg/h every 1 h
  then       stop
"#,
    );
}

#[test]
fn the_weight_at_which_it_begins_and_the_bolus() {
    assert_findings(
        r#"
use "tarnwick.gtt"

area day-ward "Day ward"
  patient    weight 20 to 110 kg
  ceiling    150 mL/h
  bolus ceiling 300 mL/h

order saline-half "Saline"
  area       day-ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  bolus      100 mL over 19 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: The flow of the bolus is 315.8 mL/h, more than the bolus ceiling of 300 mL/h in `day-ward`.
  run        all at 1.5 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: Above 100 kg the flow is more than the ceiling of 150 mL/h in `day-ward`: 165 mL/h at 110 kg.
  then       stop
"#,
    );
}

#[test]
fn the_orders_own_may_be_waived_and_the_areas_not() {
    let text = r#"
use "tarnwick.gtt"

area day-ward "Day ward"
  ceiling    150 mL/h

order saline-fast "Saline"
  area       day-ward
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  ceiling    120 mL/h
  run        all at 160 mL/h
  then       stop
"#;
    let locked: Vec<_> = findings(text)
        .into_iter()
        .filter(|finding| finding.rule.name == "flow.above-ceiling")
        .map(|finding| (finding.message, finding.locked))
        .collect();
    assert_eq!(
        locked,
        [
            (
                "The flow is 160 mL/h, more than the ceiling of 150 mL/h in `day-ward`.".to_owned(),
                true
            ),
            (
                "The flow is 160 mL/h, more than the order's ceiling of 120 mL/h.".to_owned(),
                false
            ),
        ]
    );
}

#[test]
fn what_may_be_adjusted_and_a_ceiling_on_the_dose() {
    assert_findings(
        r#"
use "tarnwick.gtt"

order midazolam-adjusted "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mg/h
  adjust     1 to 10 mg/h by 1 mg/h every 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: The flow at the highest step is 10 mL/h, more than the order's ceiling of 8 mg/h. The ceiling is 8 mL/h there.
  ceiling    8 mg/h
  then       renew
"#,
    );
}

#[test]
fn what_to_do_is_by_what_sets_the_flow() {
    let advice = |lines: &str| {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder a \"A\"\n  route central vein\n  pump volumetric\n{lines}"
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "flow.above-ceiling");
        found.unwrap().notes.pop().unwrap()
    };
    let drug = "  drug midazolam\n  mix 50 mg made up to 50 mL with saline\n";
    let fluid = "  hang 500 mL of saline\n";
    for (lines, told) in [
        (
            "  ceiling 3 mL/h\n  run all at 5 mg/h\n  then stop\n",
            "To keep the dose, use a stronger mixture",
        ),
        (
            "  ceiling 3 mg/h\n  run all at 5 mg/h\n  then stop\n",
            "The ceiling is a dose",
        ),
        (
            "  ceiling 3 mL/h\n  run all over 2 h\n  then stop\n",
            "Give it over a longer time.",
        ),
        (
            "  ceiling 3 mL/h\n  run all at 1 mg/h\n  adjust 1 to 5 mg/h by 1 mg/h every 1 h\n  then stop\n",
            "or use a stronger mixture.",
        ),
        (
            "  ceiling 3 mL/h\n  run 20 mL at 1 mg/h\n  then keep open 5 mL/h\n",
            "Keep the vein open at a slower flow.",
        ),
    ] {
        let note = advice(&format!("{drug}{lines}"));
        assert!(note.contains(told), "{lines}: {note}");
    }
    for (lines, told) in [
        (
            "  ceiling 80 mL/h\n  run all at 100 mL/h\n  then stop\n",
            "Give it over a longer time.",
        ),
        (
            "  ceiling 80 mL/h\n  run all at 50 mL/h\n  adjust 50 to 100 mL/h by 10 mL/h every 1 h\n  then stop\n",
            "Lower the top of `adjust`.",
        ),
    ] {
        assert_eq!(advice(&format!("{fluid}{lines}")), told, "{lines}");
    }
}

#[test]
fn without_an_area_the_strictest_holds_and_is_said_once() {
    let text = r#"
use "tarnwick.gtt"

area cellar "Cellar"
  ceiling    100 mL/h

area attic "Attic"
  ceiling    50 mL/h

order saline-anywhere "Saline"
  area       any
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 125 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: the ceiling of 50 mL/h in `attic`
  then       stop
"#;
    assert_findings(text);
}

#[test]
fn a_ceiling_that_cannot_be_compared() {
    assert_findings(
        r#"
use "tarnwick.gtt"

area day-ward "Day ward"
  ceiling    2 mL/kg/h

order saline-anywhere "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: was not checked
  area       any
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 125 mL/h
  then       stop

order saline-half "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.above-ceiling: was not checked
  area       day-ward
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all at 125 mL/h
  then       stop
"#,
    );
}
