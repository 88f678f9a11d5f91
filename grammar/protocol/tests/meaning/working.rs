//! How values come about, and those that `expect` has no word for.

use crate::support::{assert_steps, steps};

/// 40 mg in 4 mL a container; from 40 kg on more than one.
const BY_WEIGHT: &str = r#"
order a "A"
  drug       testamine
  patient    weight 20 to 100 kg
  mix        1 mg/kg made up to 100 mL with saline
  run        all over 2 h
  then       stop
"#;

/// 0.1 to 0.5 mg/kg/h of 1 mg/mL; a bag of 50 mL.
const BY_DOSE: &str = r#"
order a "A"
  drug       testamine
  patient    weight 20 to 100 kg
  pump       volumetric
  mix        50 mg made up to 50 mL with saline
  prime      10 mL
  run        all at 0.1 mg/kg/h, at most 20 mg/h
  adjust     0.1 to 0.5 mg/kg/h by 0.1 mg/kg/h every 30 min
  then       renew
"#;

/// What to draw up, from how many containers, into how much diluent.
#[test]
fn containers_are_whole() {
    assert_steps(
        BY_WEIGHT,
        "60 kg",
        "
        draw: 1 mg/kg × 60 kg = 60 mg; 60 mg ÷ 10 mg/mL = 6 mL of the drug as supplied; 60 mg ÷ 100 mL = 0.6 mg/mL; draw 6 mL
        containers: 1 mg/kg × 60 kg = 60 mg; 60 mg ÷ 10 mg/mL = 6 mL of the drug as supplied; 60 mg ÷ 100 mL = 0.6 mg/mL; 6 mL ÷ 4 mL per container = 1.5; containers 2 (whole containers), rounded up from 1.5
        diluent: 1 mg/kg × 60 kg = 60 mg; 60 mg ÷ 10 mg/mL = 6 mL of the drug as supplied; 60 mg ÷ 100 mL = 0.6 mg/mL; 100 mL less 6 mL of the drug as supplied; diluent 94 mL
        ",
    );
    let at = |weight| steps(BY_WEIGHT, weight, "containers");
    assert!(at("40 kg").ends_with("containers 1, opened and used up"));
    assert!(at("40.1 kg").ends_with("containers 2 (whole containers), rounded up from 1.0025"));
}

/// The time at which a bag runs dry, and bags per day: the first bag is primed
/// from, the next ones are not.
#[test]
fn bags_follow_each_other() {
    assert_steps(
        BY_DOSE,
        "50 kg",
        "
        runs dry: 50 mg ÷ 10 mg/mL = 5 mL of the drug as supplied; 50 mg ÷ 50 mL = 1 mg/mL; 0.1 mg/kg/h × 50 kg = 5 mg/h; 5 mg/h ÷ 1 mg/mL = 5 mL/h; 50 mL in the bag, less 10 mL primed; 40 mL ÷ 5 mL/h = 8 h; runs dry 8 h
        bags: 50 mg ÷ 10 mg/mL = 5 mL of the drug as supplied; 50 mg ÷ 50 mL = 1 mg/mL; 0.1 mg/kg/h × 50 kg = 5 mg/h; 5 mg/h ÷ 1 mg/mL = 5 mL/h; 50 mL ÷ 5 mL/h = 10 h a bag; 24 h ÷ 10 h = 2.4; at most 3 begun in any 24 h; bags 2.4 per day
        ",
    );
}

/// A bag that is changed before it is empty makes more of them.
#[test]
fn a_change_makes_more_bags() {
    let changed = BY_DOSE.replace("then ", "change bag every 6 h\n  then ");
    let bags = steps(&changed, "50 kg", "bags");
    let wanted = "50 mL ÷ 5 mL/h = 10 h a bag; changed after 6 h, which is sooner; \
                  24 h ÷ 6 h = 4; at most 4 begun in any 24 h; bags 4 per day";
    assert!(bags.ends_with(wanted), "{bags}");
}

/// Every step goes by the setting asked for: inside the range, at both ends,
/// and where the cap binds.
#[test]
fn the_working_follows_the_setting() {
    let bag = "50 mg ÷ 10 mg/mL = 5 mL of the drug as supplied; 50 mg ÷ 50 mL = 1 mg/mL";
    let cases = [
        ("0.1 mg/kg/h", "0.1 mg/kg/h × 80 kg = 8 mg/h", "8", "", "5"),
        (
            "0.2 mg/kg/h",
            "0.2 mg/kg/h × 80 kg = 16 mg/h",
            "16",
            ", that is 2 h 30 min",
            "2.5",
        ),
        (
            "0.5 mg/kg/h",
            "0.5 mg/kg/h × 80 kg = 40 mg/h; at most 20 mg/h: 20 mg/h instead of 40 mg/h",
            "20",
            "",
            "2",
        ),
        ("10 mL/h", "", "10", "", "4"),
    ];
    for (setting, whole, flow, clock, hours) in cases {
        let at = format!("80 kg at {setting}");
        let to_flow = if whole.is_empty() {
            String::new()
        } else {
            format!("{bag}; {whole}; {flow} mg/h ÷ 1 mg/mL = {flow} mL/h; ")
        };
        assert_eq!(
            steps(BY_DOSE, &at, "flow"),
            format!("{to_flow}flow {flow} mL/h")
        );
        let time = steps(BY_DOSE, &at, "time");
        assert!(
            time.ends_with(&format!(
                "40 mL ÷ {flow} mL/h = {hours} h; time {hours} h{clock}"
            )),
            "{time}"
        );
        assert!(time.contains(whole), "{time}");
        let dry = steps(BY_DOSE, &at, "runs dry");
        assert!(
            dry.ends_with(&format!("runs dry {hours} h{clock}")),
            "{dry}"
        );
        let total = steps(BY_DOSE, &at, "total");
        assert!(
            total.contains(&format!("{flow} mL/h × 1 mg/mL without end")),
            "{total}"
        );
    }
}

/// A setting counted otherwise than the bag goes by the drug's `equals`.
#[test]
fn a_setting_counted_otherwise() {
    let order = r#"
drug salt "A salt"
  supplied   100 mg in 10 mL
  equals     10 mg, 1 mmol

order a "A"
  drug       salt
  mix        100 mg made up to 50 mL with saline
  run        all at 0.2 mmol/h
  then       stop
"#;
    assert_steps(
        order,
        "70 kg",
        "
        flow: 100 mg ÷ 10 mg/mL = 10 mL of the drug as supplied; 100 mg ÷ 50 mL = 2 mg/mL; 0.2 mmol/h = 2 mg/h, as the drug's `equals` says; 2 mg/h ÷ 2 mg/mL = 1 mL/h; flow 1 mL/h
        runs dry: 100 mg ÷ 10 mg/mL = 10 mL of the drug as supplied; 100 mg ÷ 50 mL = 2 mg/mL; 0.2 mmol/h = 2 mg/h, as the drug's `equals` says; 2 mg/h ÷ 2 mg/mL = 1 mL/h; 50 mL ÷ 1 mL/h = 50 h; runs dry 50 h, that is 2 days 2 h
        ",
    );
}

/// A repeated run takes a fresh bag each time, no more than there are in all.
#[test]
fn repeats_take_a_bag_each() {
    let order = r#"
order a "A"
  drug       testamine
  mix        40 mg made up to 50 mL with saline
  run        all over 1 h every 8 h for 2 doses
"#;
    assert_steps(
        order,
        "70 kg",
        "
        bags: a fresh bag every 8 h; 24 h ÷ 8 h = 3; 2 in all; at most 2 begun in any 24 h; bags 2 per day
        runs dry: all of the 50 mL in the bag; 50 mL ÷ 1 h = 50 mL/h; 50 mL ÷ 50 mL/h = 1 h; runs dry 1 h
        ",
    );
}

/// A bag that lasts over two phases, and one of which something is left.
#[test]
fn a_bag_over_two_phases() {
    let order = r#"
order a "A"
  drug       testamine
  patient    weight 20 to 100 kg
  mix        40 mg made up to 100 mL with saline
  phase      fast
    run      20 mL at 40 mL/h
  phase      slow
    run      0.8 mL/kg at 10 mL/h
  then       stop
"#;
    let dry = |weight| steps(order, weight, "runs dry");
    assert!(dry("100 kg").ends_with(
        "20 mL ÷ 40 mL/h = 0.5 h; 80 mL ÷ 10 mL/h = 8 h; runs dry 8.5 h, that is 8 h 30 min"
    ));
    assert_eq!(dry("50 kg"), "");
    // Over the range, only the heaviest empty it: at 20 kg, 64 mL are left.
    assert!(steps(order, "10 mL/h", "runs dry").ends_with(
        "20 mL ÷ 10 mL/h = 2 h; 16 mL ÷ 10 mL/h = 1.6 h; 64 mL left in the bag; \
         runs dry: never, some is left in the bag"
    ));
}

/// The dose that the rounded flow really gives, by the true strength.
#[test]
fn the_pumps_dose_is_by_the_true_strength() {
    let order = r#"
order a "A"
  drug       testamine
  pump       volumetric
  mix        200 mg added to 250 mL of saline, counted as 250 mL
  run        all at 16.2 mg/h
  then       stop
"#;
    assert_steps(
        order,
        "70 kg",
        "
        pump dose: 200 mg ÷ 10 mg/mL = 20 mL of the drug as supplied; 250 mL + 20 mL = 270 mL in the bag; 200 mg ÷ 250 mL (as counted) = 0.8 mg/mL; 200 mg ÷ 270 mL (true volume) = 0.7407 mg/mL; 16.2 mg/h ÷ 0.8 mg/mL = 20.25 mL/h; 20.3 mL/h, as the pump runs it, × 0.7407 mg/mL; pump dose 15.04 mg/h
        ",
    );
}

/// Totals are also given per kg, and a substance's share is shown.
#[test]
fn totals_per_kg() {
    let order = r#"
order a "A"
  drug       potassium-chloride
  patient    weight 50 to 100 kg
  mix        20 mmol made up to 500 mL with saline
  run        all over 4 h
  then       stop
"#;
    let potassium = steps(order, "50 kg", "potassium");
    let lines: Vec<_> = potassium.lines().collect();
    let share = "10 mL of potassium-chloride × 2 mmol/mL = 20 mmol of potassium; \
                 20 mmol ÷ 500 mL in the bag = 0.04 mmol/mL; all of the 500 mL in the bag; \
                 500 mL ÷ 4 h = 125 mL/h; \
                 125 mL/h × 0.04 mmol/mL for 4 h, from 0 min on";
    assert_eq!(lines[0], format!("{share}; potassium 20 mmol"));
    assert_eq!(
        lines[1],
        format!("{share}; 20 mmol ÷ 50 kg; potassium 0.4 mmol/kg")
    );
    assert_eq!(lines.len(), 4);
}

/// Every factor between units is a step of its own, or stands in one: what a
/// second person checks.
#[test]
fn factors_are_shown() {
    let order = r#"
giving-set drip "A drip"
  drops      20 per mL

order a "A"
  drug       testamine
  patient    weight 20 to 100 kg
  giving-set drip
  mix        4 mg made up to 50 mL with saline
  bolus      1 mL over 10 min
  run        all at 0.06 mcg/kg/min
  then       stop

order b "B"
  patient    weight 20 to 100 kg
  hang       500 mL of saline
  run        all at 60 mL/kg/day
  then       stop
"#;
    let (a, b) = order.split_once("order b").unwrap();
    let whole = "0.06 mcg/kg/min × 40 kg = 2.4 mcg/min; 2.4 mcg/min × 60 min/h = 144 mcg/h; \
                 0.08 mg/mL × 1000 mcg/mg = 80 mcg/mL; 144 mcg/h ÷ 80 mcg/mL = 1.8 mL/h";
    let ends = |measure, wanted: &str| {
        let found = steps(a, "40 kg", measure);
        assert!(found.ends_with(wanted), "{found}");
    };
    ends("flow", &format!("{whole}; flow 1.8 mL/h"));
    ends(
        "dose",
        "1.8 mL/h × 80 mcg/mL ÷ 40 kg ÷ 60 min/h; dose 0.06 mcg/kg/min",
    );
    ends(
        "drops",
        "1.8 mL/h ÷ 60 min/h = 0.03 mL/min; 0.03 mL/min × 20 drops/mL; drops 0.6 drops/min",
    );
    ends(
        "bolus time",
        "1 mL ÷ 10 min × 60 min/h = 6 mL/h; bolus time 10 min",
    );
    let b = format!("order b{b}");
    assert_eq!(
        steps(&b, "20 kg", "flow"),
        "60 mL/kg/day × 20 kg = 1200 mL/day; 1200 mL/day ÷ 24 h/day = 50 mL/h; flow 50 mL/h"
    );
}
