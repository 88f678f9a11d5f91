use crate::harness::{assert_findings, findings};

const DRUG: &str = r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  dosed in   mg/kg/h
  supplied   100 mg in 10 mL
  with       saline
  usual dose 0.5 to 2 mg/kg/h
  usual single dose 40 to 60 mg

"#;

/// What the finding on `run` says, for an order that runs so.
fn said(lines: &str) -> String {
    let text = format!(
        "{DRUG}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n{lines}\n"
    );
    let slips: Vec<_> = findings(&text)
        .into_iter()
        .filter(|finding| finding.rule.name == "limit.slip")
        .map(|finding| finding.message)
        .collect();
    assert!(slips.len() <= 1, "{slips:?}");
    slips.into_iter().next().unwrap_or_default()
}

/// `1 mg (…)` as it is told: `` `1 mg` (…) ``.
fn marked(named: &str) -> String {
    format!("`{}", named.replacen(" (", "` (", 1))
}

/// A syringe run at this dose.
fn at(rate: &str) -> String {
    said(&format!(
        "  mix 500 mg made up to 500 mL with saline\n  run all at {rate}\n  then renew"
    ))
}

#[test]
fn each_kind_of_slip_is_named() {
    for (rate, named) in [
        ("10 mg/kg/h", "1 mg/kg/h (the point one place to the left)"),
        (
            "0.1 mg/kg/h",
            "1 mg/kg/h (the point one place to the right)",
        ),
        (
            "150 mg/kg/h",
            "1.5 mg/kg/h (the point two places to the left)",
        ),
        (
            "0.005 mg/kg/h",
            "0.5 mg/kg/h (the point two places to the right)",
        ),
        ("1 g/kg/h", "1 mg/kg/h (mg/kg/h for g/kg/h)"),
        ("900 mg/kg/h", "0.9 mg/kg/h (mcg/kg/h for mg/kg/h)"),
        ("900 ng/kg/h", "0.9 mg/kg/h (mcg/kg/h for ng/kg/h)"),
        ("1 mg/kg/min", "1 mg/kg/h (mg/kg/h for mg/kg/min)"),
        ("48 mg/kg/h", "2 mg/kg/h (mg/kg/day for mg/kg/h)"),
        ("24 mg/kg/min", "1 mg/kg/h (mg/kg/day for mg/kg/min)"),
        ("1.2 mg/h", "1.2 mg/kg/h (mg/kg/h for mg/h)"),
        ("90 mg/kg/h", "90 mL/h (mL/h for mg/kg/h)"),
        ("1.2 mL/h", "1.2 mg/kg/h (mg/kg/h for mL/h)"),
        ("5.1 mg/kg/h", "1.5 mg/kg/h (two digits swapped)"),
        (
            "2.5 mg/kg/h",
            "1.1 mg/kg/h (calculated with pounds for kilograms)",
        ),
    ] {
        let (said, named) = (at(rate), marked(named));
        assert!(said.contains(&named), "{rate}: {said}");
    }
}

/// What is written in another unit than the drug is dosed in is a finding: it is
/// offered as it is to be written, or not at all.
#[test]
fn what_would_be_a_finding_is_not_offered() {
    // 50 mg/kg/day are 25/12 mg/kg/h, and no decimal.
    assert!(!at("50 mg/kg/h").contains("/day"));
    assert!(!at("90 mg/kg/h").contains("`90 mg/h`"));
}

/// The drug is dosed by weight: that `/kg` was left out is likelier than another
/// time, though both keep the limits.
#[test]
fn the_unit_that_the_drug_is_dosed_in_comes_first() {
    let said = at("1.2 mg/h");
    let by_weight = said.find("`1.2 mg/kg/h`").unwrap();
    let other_time = said.find("`1.2 mg/min`").unwrap();
    assert!(by_weight < other_time, "{said}");
}

/// An example that was reckoned from the right dose says which of two it was.
#[test]
fn what_sets_the_example_right_is_the_likelier() {
    let run = |example: &str| {
        said(&format!(
            "  mix 500 mg made up to 500 mL with saline\n  run all at 100 mg/kg/h\n  then renew\n  expect {example}"
        ))
    };
    // 1 mg/mL: 1 mg/kg/h are 50 mL/h at 50 kg.
    let said = run("flow 50 mL/h at 50 kg");
    assert!(
        said.contains("`1 mg/kg/h` (the point two places to the left)"),
        "{said}"
    );
    assert!(!said.contains("mL/h"), "{said}");
    let said = run("strength 1 mg/mL");
    assert!(said.contains("mL/h"), "{said}");
}

/// Kept open at 800 mL/h, 16 mg/kg/h at 50 kg: that is the number, and nothing of
/// the bag. A bag ten times weaker would keep the limits too.
#[test]
fn what_keeps_a_vein_open_is_set_right_in_its_own_number() {
    let drug = DRUG.replace("  usual single dose 40 to 60 mg\n", "");
    let text = format!(
        "{drug}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 500 mg made up to 500 mL with saline\n  run 100 mL at 1 mg/kg/h\n  then keep open 800 mL/h\n"
    );
    let found = findings(&text);
    let slips: Vec<_> = found
        .iter()
        .filter(|finding| finding.rule.name == "limit.slip")
        .map(|finding| finding.message.as_str())
        .collect();
    let [said] = slips.as_slice() else {
        panic!("{slips:?}")
    };
    assert!(
        said.contains("`80 mL/h` (the point one place to the left)"),
        "{said}"
    );
    assert!(!said.contains("500"), "{said}");
}

#[test]
fn a_correction_that_breaks_a_limit_is_none() {
    assert!(!at("31 mg/kg/h").contains("3.1 mg/kg/h ("));
}

#[test]
fn nor_one_that_the_area_or_the_pump_does_not_allow() {
    let text = format!(
        "{DRUG}\narea small \"Small\"\n  patient weight 50 to 100 kg\n  AREA\n\npump narrow \"Narrow\"\n  flow PUMP in steps of 0.1 mL/h\n\norder a \"A\"\n  drug limitamine\n  area small\n  patient weight 50 to 100 kg\n  route central vein\n  pump narrow\n  mix 500 mg made up to 500 mL with saline\n  run 50 mL at 0.1 mg/kg/h\n  then renew\n"
    );
    let offered = |area: &str, pump: &str| {
        let text = text.replace("AREA", area).replace("PUMP", pump);
        let found = findings(&text);
        found.iter().any(|finding| {
            finding.rule.name == "limit.slip" && finding.message.contains("`1 mg/kg/h`")
        })
    };
    let (wide, ceiling) = ("0.1 to 900 mL/h", "ceiling 200 mL/h");
    assert!(offered(ceiling, wide));
    assert!(!offered("ceiling 60 mL/h", wide));
    assert!(!offered("fluid up to 10 mL/kg/day", wide));
    assert!(!offered(ceiling, "0.1 to 60 mL/h"));
}

#[test]
fn a_days_dose_at_each_time() {
    for (every, amount, named) in [
        (
            "12 h",
            100,
            "50 mg (the dose for a day in place of one of 2)",
        ),
        (
            "8 h",
            150,
            "50 mg (the dose for a day in place of one of 3)",
        ),
        (
            "6 h",
            200,
            "50 mg (the dose for a day in place of one of 4)",
        ),
        (
            "4 h",
            300,
            "50 mg (the dose for a day in place of one of 6)",
        ),
        (
            "24 h",
            350,
            "50 mg (the dose for a week in place of one day's)",
        ),
        (
            "1 h",
            1_200,
            "50 mg (the dose for a day in place of one of 24)",
        ),
    ] {
        let said = said(&format!(
            "  mix {amount} mg made up to 200 mL with saline\n  run all over 30 min every {every}"
        ));
        let named = marked(named);
        assert!(said.contains(&named), "{every}: {said}");
    }
}

#[test]
fn another_number_of_the_line_is_named() {
    let text = format!(
        "{}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 5,000 mg made up to 500 mL with saline\n  run 500 mg over 30 min\n  then stop\n",
        DRUG.replace("  usual single dose 40 to 60 mg\n", "")
    );
    let slip = findings(&text)
        .into_iter()
        .find(|finding| finding.rule.name == "limit.slip");
    assert_eq!(
        slip.unwrap().message,
        "Likely slip in `500 mg`: every limit would be kept by `50 mg` (the point one place to the left) or by `300 min` for `30 min` (the point one place to the right)."
    );
}

#[test]
fn weights_in_pounds() {
    assert_findings(
        r#"
use "tarnwick.gtt"

order midazolam-steady "Midazolam"
  drug       midazolam
  area       ward
  patient    weight 100 to 300 kg
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.patient
                    ^^^^^^^^^^^^^ limit.slip: Likely slip: `100 to 300 kg` matches the patients of the area if it is in pounds; in kilograms that is 45 to 136 kg.
  route      central vein
  undiluted  50 mL
  run        all at 2 mg/h
  then       renew
"#,
    );
}

#[test]
fn what_is_waived_needs_no_explanation() {
    let text = format!(
        "{DRUG}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 500 mg made up to 500 mL with saline\n  run all at 10 mg/kg/h\n  then renew\n  waive limit.unusual of dose up to 10 mg/kg/h because \"a trial\"\n"
    );
    let loud: Vec<_> = findings(&text)
        .into_iter()
        .filter(|finding| finding.severity >= crate::Severity::Warning)
        .collect();
    assert!(loud.is_empty(), "{loud:?}");
}

#[test]
fn one_dose_for_all_names_no_patient() {
    let text = format!(
        "{DRUG}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 500 mg made up to 500 mL with saline\n  run all at 10 mg/kg/h\n  then renew\n"
    );
    let slip = findings(&text)
        .into_iter()
        .find(|finding| finding.rule.name == "limit.slip")
        .unwrap();
    assert_eq!(
        slip.fixes[0].title,
        "write 1 mg/kg/h instead of 10 mg/kg/h: the dose 10 mg/kg/h becomes 1 mg/kg/h"
    );
}

#[test]
fn the_correction_tells_the_dose_before_and_after() {
    let text = format!(
        "{DRUG}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 5,000 mg made up to 500 mL with saline\n  run all at 100 mL/h\n  then renew\n"
    );
    let slip = findings(&text)
        .into_iter()
        .find(|finding| finding.rule.name == "limit.slip")
        .unwrap();
    assert!(slip.fixes.iter().all(|fix| !fix.spelling));
    let change = slip.fixes[0].doses.as_ref().unwrap();
    assert_eq!(
        change.to_string(),
        "the dose 20 mg/kg/h becomes 2 mg/kg/h at 50 kg"
    );
}

/// The order's text after each fix that is offered.
fn fixed(lines: &str) -> Vec<String> {
    fixed_of(DRUG, lines)
}

fn fixed_of(drug: &str, lines: &str) -> Vec<String> {
    let text = format!(
        "{drug}order a \"A\"\n  drug limitamine\n  patient weight 50 to 100 kg\n  route central vein\n  mix 500 mg made up to 500 mL with saline\n{lines}\n  then renew\n"
    );
    let slips = findings(&text)
        .into_iter()
        .filter(|finding| finding.rule.name == "limit.slip");
    let fixes: Vec<_> = slips.flat_map(|finding| finding.fixes).collect();
    fixes
        .iter()
        .map(|fix| crate::fixes::apply(&text, &[fix]))
        .collect()
}

#[test]
fn a_fix_of_an_adjust_leaves_it_in_one_unit() {
    let one = fixed("  run all at 1 mg/kg/h\n  adjust 1 to 90 mg/kg/h by 1 mg/kg/h every 5 min");
    for text in one {
        let wrong = findings(&text)
            .iter()
            .any(|finding| finding.rule.name == "unit.wrong-kind");
        assert!(!wrong, "{text}");
    }
    let all = fixed_of(
        &DRUG.replace("dosed in   mg/kg/h", "dosed in   mcg/kg/h"),
        "  run all at 500 mcg/kg/h\n  adjust 500 to 2,000 mg/kg/h by 500 mg/kg/h every 5 min",
    );
    let [right] = all.as_slice() else {
        panic!("{all:?}");
    };
    let line = "adjust 500 to 2000 mcg/kg/h by 500 mcg/kg/h every 5 min";
    assert!(right.contains(line), "{right}");
}

#[test]
fn a_long_list_of_steps_is_judged_by_its_ends() {
    use std::fmt::Write as _;
    let mut steps = String::new();
    for step in 1..10_000 {
        write!(steps, "{step}, ").unwrap();
    }
    let lines = format!("  run all at 1 mg/kg/h\n  adjust {steps}10,000 mg/kg/h every 5 min");
    assert!(fixed(&lines).is_empty());
}
