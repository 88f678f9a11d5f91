use crate::harness::{assert_findings, findings, fixed};

#[test]
fn runs_and_adjustments() {
    assert_findings(
        r#"
use "tarnwick.gtt"

order midazolam-steady "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mg/h
  adjust     1 to 5 mg/h by 1 mg/h every 1 h
  then       renew

order midazolam-by-weight "Midazolam"
  drug       midazolam
  patient    weight 40 to 60 kg
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 0.05 mg/kg/h
                    ^^^^^^^^^^^^ unit.not-as-dosed: midazolam is dosed in mg/h, but `0.05 mg/kg/h` is in mg/kg/h.
  then       renew
"#,
    );
}

/// A drug with limits of its dose by weight, for children alone, and of what
/// counts all of it in g.
const LIMITED: &str = r#"
use "tarnwick.gtt"

area children "Children"
  patient    weight 10 to 40 kg

area adults "Adults"
  patient    weight 40 to 60 kg

drug limitamine "A drug with limits"
  dosed in   mg/h
  supplied   50 mg in 10 mL
  with       saline
  usual dose 1 to 10 mg/h in adults
  usual dose 0.05 to 0.2 mg/kg/h in children
  never dose above 0.24 g/day

order limitamine-steady "Limitamine"
  drug       limitamine
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
"#;

#[test]
fn a_unit_of_the_drugs_own_limits_is_known() {
    for (area, dose) in [
        ("children", "0.1 mg/kg/h"),
        ("children", "2 mg/h"),
        ("adults", "0.12 g/day"),
    ] {
        assert_findings(&format!(
            "{LIMITED}  area       {area}\n  run        all at {dose}\n  then       renew\n"
        ));
    }
    assert_findings(&format!(
        "{LIMITED}  area       adults\n  run        all at 0.1 mg/kg/h\n                    ^^^^^^^^^^^ unit.not-as-dosed\n  then       renew\n"
    ));
}

/// Which limits hold is not known while the order cannot be reckoned.
#[test]
fn an_order_that_is_not_whole_may_be_under_any_limit() {
    for unread in ["  area       chil\n", "  area       ch ldren\n", "  bag\n"] {
        let text =
            format!("{LIMITED}{unread}  run        all at 0.1 mg/kg/h\n  then       renew\n");
        let found = findings(&text);
        let rules: Vec<_> = found.iter().map(|finding| finding.rule.name).collect();
        assert!(!rules.is_empty(), "{unread}");
        assert!(!rules.contains(&"unit.not-as-dosed"), "{unread}: {rules:?}");
    }
}

/// 2 mcg/kg/min are 0.12 mg/kg/h, by hand.
#[test]
fn a_dose_is_offered_in_the_unit_of_its_limits() {
    let text = format!(
        "{LIMITED}  area       children\n  run        all at 2 mcg/kg/min\n  then       renew\n"
    );
    let found = findings(&text);
    let mut found = found.iter();
    let finding = found.find(|finding| finding.rule.name == "unit.not-as-dosed");
    let finding = finding.unwrap();
    assert!(finding.notes[0].contains("in mg/kg/h"), "{finding:?}");
    let fixed = fixed(&text, &finding.fixes[0]);
    assert!(fixed.contains("all at 0.12 mg/kg/h"), "{fixed}");
}

#[test]
fn every_dose_of_the_line_is_converted() {
    let text = r#"
use "tarnwick.gtt"

order midazolam-steady "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 3 mg/h
  adjust     0.05 to 0.1 mg/min by 0.05 mg/min every 1 h
  then       renew
"#;
    let found = findings(text);
    let finding = found
        .iter()
        .find(|finding| finding.rule.name == "unit.not-as-dosed")
        .unwrap();
    let fixed = fixed(text, &finding.fixes[0]);
    assert!(
        fixed.contains("adjust     3 to 6 mg/h by 3 mg/h every 1 h"),
        "{fixed}"
    );
    assert!(
        findings(&fixed)
            .iter()
            .all(|finding| finding.rule.name != "unit.not-as-dosed")
    );
}

#[test]
fn a_plain_flow_is_told() {
    let text = |run: &str| {
        format!(
            r#"
use "tarnwick.gtt"

order heparin-steady "Heparin"
  drug       heparin
  route      central vein
  pump       syringe
  mix        20,000 units made up to 50 mL with saline
  run        {run}
  then       renew
"#
        )
    };
    let found = |run| -> Vec<_> {
        let found = findings(&text(run)).into_iter();
        let found = found.filter(|finding| finding.rule.name == "unit.not-as-dosed");
        found
            .map(|finding| (finding.severity, finding.message))
            .collect()
    };
    let message = "heparin is dosed in units/h, but this line states only the flow of the fluid.";
    assert_eq!(
        found("all at 2.5 mL/h"),
        [(crate::Severity::Information, message.to_owned())]
    );
    assert_eq!(found("all at 1,000 units/h"), []);
    assert_eq!(found("all at 1,000 units/h over 20 h"), []);
}

#[test]
fn a_load_is_not_dosed() {
    assert_findings(
        r#"
use "tarnwick.gtt"

order midazolam-load "Midazolam"
  drug       midazolam
  purpose    loading
  route      central vein
  pump       syringe
  mix        5 mg made up to 50 mL with saline
  run        all at 0.25 mg/min
  then       stop
"#,
    );
}
