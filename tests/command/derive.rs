//! `gutta derive`.

use serde_json::{Value, json};

use crate::support::{Folder, RIGHT};

const CAUTION: &str = "A checking aid, not a medical device. Local policy, the manufacturer's \
                       information and licensed practice decide. Have everything checked independently by a second person.";

#[test]
fn values_stand_in_a_table() {
    let folder = Folder::with_order(RIGHT);
    let all = folder.run(&["derive"]);
    insta::assert_snapshot!("derived_over_the_range", all.told());
    let words = [
        "derive",
        "--weight",
        "70 kg",
        "--dose",
        "0.1 mcg/kg/min",
        "--working",
    ];
    insta::assert_snapshot!("derived_for_one_patient", folder.run(&words).told());
    assert!(all.out.lines().all(|line| line.chars().count() <= 80));
}

/// The numbers of a measure in the first phase of a document's first order.
fn numbers<'a>(document: &'a Value, measure: &str) -> (&'a Value, &'a Vec<Value>) {
    let values = document["orders"][0]["phases"][0]["values"].as_array();
    let value = values
        .unwrap()
        .iter()
        .find(|value| value["measure"] == measure);
    let value = value.unwrap_or_else(|| panic!("no {measure}"));
    (value, value["numbers"].as_array().unwrap())
}

#[test]
fn json_has_the_documented_shape() {
    let folder = Folder::with_order(RIGHT);
    let words = ["derive", "--format", "json", "--working"];
    let document = folder.run(&words).json();
    assert_eq!(document["form"], 2);
    assert_eq!(document["caution"], CAUTION);
    let order = &document["orders"][0];
    assert_eq!(order["name"], "noradrenaline-central");
    assert_eq!(order["file"], "order.gtt");
    let patients = json!([{"weight": "40 kg"}, {"weight": "150 kg"}]);
    assert_eq!(order["patients"], patients);
    assert_eq!(order["phases"][0]["name"], json!(null));
    // 0.06 mcg/kg/min × 40 kg × 60 min/h ÷ 80 mcg/mL = 1.8 mL/h, by hand.
    let (flow, flows) = numbers(&document, "flow");
    assert_eq!(flow["unit"], "mL/h");
    assert_eq!(flows[0]["patient"], 0);
    assert_eq!(flows[0]["exact"], "9/5");
    assert_eq!(flows[0]["decimal"], "1.8");
    assert_eq!(flows[0]["shown"], "1.8");
    assert_eq!(flows[1]["patient"], 1);
    assert_eq!(flows[1]["exact"], "27/4");
    let working = flows[1]["working"].as_array().unwrap();
    let steps = working
        .iter()
        .map(|step| order["steps"][usize::try_from(step.as_u64().unwrap()).unwrap()].clone());
    let steps: Vec<_> = steps.collect();
    assert!(steps.len() > 1);
    assert!(
        steps
            .iter()
            .any(|step| step.as_str().unwrap().contains("× 150 kg")),
        "{steps:?}"
    );
    // The same for everybody, and said once.
    let (_, strengths) = numbers(&document, "strength");
    assert_eq!(strengths.len(), 1);
    assert_eq!(strengths[0]["patient"], json!(null));
    let plain = folder.run(&["derive", "--format", "json"]).json();
    let (_, flows) = numbers(&plain, "flow");
    assert_eq!(flows[1]["exact"], "27/4");
    assert!(flows[1].get("working").is_none());
    assert!(plain["orders"][0].get("steps").is_none());
}

/// What holds for several is not said for each: neither a patient, nor a unit,
/// nor a step.
#[test]
fn json_says_a_thing_once() {
    let runs = "  run        1 mL at 0.06 mcg/kg/min\n".repeat(20);
    let text = RIGHT.replace("  run        all", &format!("{runs}  run        all"));
    let folder = Folder::with_order(&text);
    let words = ["derive", "--format", "json", "--working"];
    let out = folder.run(&words).out;
    assert_eq!(out.matches("\"weight\":\"40 kg\"").count(), 1, "{out}");
    let document: Value = serde_json::from_str(&out).unwrap();
    let steps = document["orders"][0]["steps"].as_array().unwrap();
    let told: std::collections::BTreeSet<_> = steps.iter().map(Value::to_string).collect();
    assert_eq!(told.len(), steps.len());
    // 21 runs, each with its values for two patients, and the working of all.
    assert!(out.len() < 50_000, "{}", out.len());
    assert_eq!(out.lines().count(), 1);
}

#[test]
fn containers_and_bags_are_in_every_form() {
    let folder = Folder::with_order(RIGHT);
    let run = |format: &str| folder.run(&["derive", "--format", format, "--weight", "70 kg"]);
    let document = run("json").json();
    let of = |measure: &str| {
        let (value, numbers) = numbers(&document, measure);
        (numbers[0]["exact"].clone(), value["unit"].clone())
    };
    assert_eq!(of("containers"), (json!("1"), json!("")));
    assert_eq!(of("diluent"), (json!("46"), json!("mL")));
    // 50 mL ÷ 3.15 mL/h = 1000/63 h; 24 h ÷ that = 189/125, by hand.
    assert_eq!(of("runs dry"), (json!("1000/63"), json!("h")));
    assert_eq!(of("bags per day"), (json!("189/125"), json!("")));
    // 3.2 mL/h × 80 mcg/mL ÷ 60 min/h ÷ 70 kg = 32/525 mcg/kg/min, by hand.
    assert_eq!(of("pump dose"), (json!("32/525"), json!("mcg/kg/min")));
    let csv = run("csv").out;
    assert!(
        csv.contains(",bags per day,,70 kg,,,189/125,1.512,1.51,,"),
        "{csv}"
    );
    let table = run("markdown").out;
    assert!(table.contains("| runs dry | 15 h 52 min |"), "{table}");
}

#[test]
fn every_form_carries_the_caution() {
    let folder = Folder::with_order(RIGHT);
    for format in ["text", "json", "csv", "markdown"] {
        let out = folder.run(&["derive", "--format", format]).out;
        let words: Vec<_> = out.split_whitespace().collect();
        assert!(words.join(" ").contains(CAUTION), "{format}: {out}");
    }
}

#[test]
fn csv_has_a_head_and_a_value_a_row() {
    let folder = Folder::with_order(RIGHT);
    let words = ["derive", "--format", "csv", "--weight", "70 kg"];
    let out = folder.run(&words).out;
    let mut lines = out.lines();
    let head = "order,file,phase,measure,part,weight,surface,dose,exact,decimal,shown,unit,note";
    assert_eq!(lines.next(), Some(head));
    let flow = lines.find(|line| line.contains(",flow,")).unwrap();
    let wanted = "noradrenaline-central,order.gtt,,flow,,70 kg,,,63/20,3.15,3.2,mL/h,";
    assert!(flow.starts_with(wanted), "{flow}");
}

/// Rows that are alike are kept apart by their runs, and none is left out.
#[test]
fn every_run_has_its_own_rows() {
    let runs = "run        10 mL at 5 mL/h\n  run        20 mL at 10 mL/h\n  \
                run        10 mL at 5 mL/h";
    let folder = Folder::with_order(&RIGHT.replace("run        all at 0.06 mcg/kg/min", runs));
    let out = folder.run(&["derive"]).out;
    for run in ["run 1  ", "run 2  ", "run 3  "] {
        for measure in ["flow", "pump flow", "time", "volume"] {
            assert!(out.contains(&format!("\n  {measure}, {run}")), "{out}");
        }
    }
    let json = folder.run(&["derive", "--format", "json"]).json();
    let values = json["orders"][0]["phases"][0]["values"].as_array().unwrap();
    let third = values
        .iter()
        .find(|value| value["part"] == "run 3" && value["measure"] == "flow");
    assert_eq!(third.unwrap()["numbers"][0]["exact"], "5");
}

/// A weight that is shown rounded is told exactly beside it.
#[test]
fn a_rounded_weight_is_told_exactly_too() {
    let cap = RIGHT.replace("0.06 mcg/kg/min", "0.06 mcg/kg/min, at most 5 mcg/min");
    let folder = Folder::with_order(&cap);
    let json = folder.run(&["derive", "--format", "json"]).json();
    let patients = json["orders"][0]["patients"].as_array().unwrap();
    let corner = patients
        .iter()
        .find(|patient| patient["weight"] == "83.33 kg");
    let corner = corner.unwrap_or_else(|| panic!("{json}"));
    assert_eq!(corner["exact_weight"], "250/3");
    let whole = patients
        .iter()
        .filter(|patient| patient["exact_weight"].is_null());
    assert!(whole.count() > 0);
}

#[test]
fn an_incomplete_order_shows_no_number() {
    let folder = Folder::with_order(&RIGHT.replace("run        all", "run        al"));
    for format in ["text", "json", "csv", "markdown"] {
        let ran = folder.run(&["derive", "--format", format]);
        assert_eq!(ran.code, Some(1), "{format}");
        assert!(ran.out.contains("line 9 could not be read"), "{}", ran.out);
        for unit in ["mcg/mL", "mL/h", "mg"] {
            assert!(!ran.out.contains(unit), "{format}: {}", ran.out);
        }
    }
    let ran = folder.run(&["derive"]);
    insta::assert_snapshot!(ran.told());
}

#[test]
fn a_patient_outside_the_range_has_no_value() {
    let folder = Folder::with_order(RIGHT);
    let ran = folder.run(&["derive", "--weight", "30 kg"]);
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.out
            .contains("30 kg is not a patient of this order: no value."),
        "{}",
        ran.out
    );
    assert!(!ran.out.contains("mL/h"), "{}", ran.out);
}

#[test]
fn orders_are_chosen_by_name() {
    let two = format!(
        "{RIGHT}\n{}",
        RIGHT.replace("-central", "-other").replace("use", "# use")
    );
    let folder = Folder::with_order(&two);
    let ran = folder.run(&["derive", "--order", "noradrenaline-other"]);
    assert!(ran.out.starts_with("noradrenaline-other "), "{}", ran.out);
    assert!(!ran.out.contains("-central"), "{}", ran.out);
    let ran = folder.run(&["derive", "--order", "noradrenaline-othr"]);
    ran.refused("there is no order `noradrenaline-othr` here; did you mean noradrenaline-other?");
}

/// A value that is the same for every surface is not the same for every
/// weight: each patient's stands below that patient.
#[test]
fn a_value_stands_below_its_own_patient() {
    let folder = Folder::with_order(
        r#"
solution saline "Sodium chloride 0.9 %"

drug vincristine "Vincristine"
  supplied   1 mg in 1 mL

order vincristine-minibag "Vincristine, small bag"
  drug       vincristine
  patient    weight 40 to 150 kg
  patient    surface 1.2 to 2.4 m2
  route      central vein
  mix        1.4 mg/m2 made up to 50 mL with saline
  run        all over 10 min
  then       stop
"#,
    );
    let words = [
        "derive",
        "--order",
        "vincristine-minibag",
        "--format",
        "markdown",
    ];
    let out = folder.run(&words).out;
    let fluid = out
        .lines()
        .find(|line| line.starts_with("| fluid ") && line.contains("mL/kg"));
    let cells: Vec<_> = fluid.unwrap().split('|').map(str::trim).collect();
    // 50 mL ÷ 40 kg, 50 mL ÷ 150 kg.
    let (light, heavy) = ("1.25 mL/kg", "0.333 mL/kg");
    assert_eq!(cells[2..6], [light, light, heavy, heavy], "{out}");
}

/// What is keyed into a pump is told to its last digit.
#[test]
fn a_pumps_flow_is_not_rounded_again() {
    let folder = Folder::with_order(
        r#"
solution saline "Sodium chloride 0.9 %"

pump driver "Syringe driver"
  flow       0.1 to 5 mL/h in steps of 0.01 mL/h

order saline-slow "Saline, slow"
  route      central vein
  pump       driver
  hang       30 mL of saline
  run        all over 24 h
  then       stop
"#,
    );
    let words = ["derive", "--order", "saline-slow"];
    let out = folder.run(&words).out;
    assert!(
        out.contains("1.25 mL/h") && !out.contains("1.3 mL/h"),
        "{out}"
    );
    let csv = folder.run(&[&words[..], &["--format", "csv"]].concat()).out;
    let flow = csv.lines().find(|line| line.contains("pump flow")).unwrap();
    assert!(flow.contains(",1.25,1.25,mL/h"), "{flow}");
}

/// A measure is told in one unit, whoever is asked about.
#[test]
fn a_measure_has_one_unit() {
    let folder = Folder::with_order(
        r#"
solution saline "Sodium chloride 0.9 %"

drug magnesium-sulfate "Magnesium sulfate"
  supplied   10 g in 20 mL
  dosed in   mg/kg/h

order magnesium "Magnesium"
  drug       magnesium-sulfate
  patient    weight 20 to 100 kg
  route      central vein
  mix        20 g made up to 500 mL with saline
  run        all at 20 mg/kg/h
  then       renew
"#,
    );
    let words = [
        "derive",
        "--order",
        "magnesium",
        "--weight",
        "20 kg",
        "--weight",
        "100 kg",
    ];
    let out = folder.run(&words).out;
    // 20 mg/kg/h for 24 h: 9.6 g and 48 g.
    let total = out
        .lines()
        .find(|line| line.contains("total per day"))
        .unwrap();
    assert!(
        total.contains("9600 mg") && total.contains("48,000 mg"),
        "{out}"
    );
}

#[test]
fn a_setting_that_the_order_does_not_allow_is_said() {
    let adjust = "adjust     0.02 to 0.5 mcg/kg/min by 0.02 mcg/kg/min every 5 min";
    let adjusted = RIGHT.replace("  then ", &format!("  {adjust}\n  then "));
    let folder = Folder::with_order(&adjusted);
    let far = ["derive", "--weight", "70 kg", "--dose", "100 mcg/kg/min"];
    let ran = folder.run(&far);
    assert!(
        ran.out
            .contains("100 mcg/kg/min is outside what `adjust` allows"),
        "{}",
        ran.out
    );
    let document = folder
        .run(&[&far[..], &["--format", "json"]].concat())
        .json();
    assert_eq!(
        document["orders"][0]["settings"].as_array().unwrap().len(),
        1
    );
    let within = folder.run(&["derive", "--weight", "70 kg", "--dose", "0.1 mcg/kg/min"]);
    assert!(!within.out.contains("outside"), "{}", within.out);
}

#[test]
fn a_bag_that_cannot_be_made_has_no_number() {
    let folder = Folder::with_order(
        r#"
drug solvane "Solvane, invented"
  supplied   100 mg in 10 mL

solution saline "Sodium chloride 0.9 %"
  contains   sodium 0.154 mmol/mL

order solvane-by-weight "Solvane"
  drug       solvane
  patient    weight 40 to 100 kg
  route      central vein
  mix        10 mg/kg made up to 50 mL with saline
  run        all over 5 h
  then       stop
"#,
    );
    for at in [&[][..], &["--weight", "70 kg"]] {
        let ran = folder.run(&[&["derive"], at].concat());
        let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            said.contains("Nothing is calculated: the bag on line 12 cannot be made"),
            "{said}"
        );
        assert!(
            !said.contains("strength") && !said.contains("diluent"),
            "{said}"
        );
    }
    let fits = folder.run(&["derive", "--weight", "50 kg"]);
    assert!(fits.out.contains("diluent"), "{}", fits.out);
}
