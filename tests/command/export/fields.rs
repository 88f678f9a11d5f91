//! Every line of the notation stands in a field, or in the list.

use super::{EVERY, kept, listed};
use crate::support::Folder;

/// What the lines that a field holds come to, as it stands in the JSON.
const EXPRESSED: [(&str, &str); 32] = [
    (
        "contains sodium 0.154 mmol/mL",
        r#""value":0.154,"unit":"mmol","#,
    ),
    (
        "supplied 100 mg in 5 mL",
        r#"{"numerator":{"value":100,"unit":"mg","#,
    ),
    (
        "contains potassium 0.01 mmol/mL",
        r#""value":0.01,"unit":"mmol","#,
    ),
    (
        "supplied 10 mg in 1 mL",
        r#"{"numerator":{"value":10,"unit":"mg","#,
    ),
    ("drug examplin", r#""code":{"text":"Examplin"}"#),
    (
        "area ward",
        r#""code":"venue"},"valueCodeableConcept":{"text":"Ward"}"#,
    ),
    (
        "patient age 18 to 80 years",
        r#""valueRange":{"low":{"value":18,"unit":"years","system":"http://unitsofmeasure.org","code":"a"}"#,
    ),
    ("route central vein", r#""route":{"text":"central vein"}"#),
    (
        "mix 500 mg made up to 500 mL with saline",
        r#"{"numerator":{"value":500,"unit":"mg","#,
    ),
    (
        "bolus 50 mg over 10 min, at most 60 mg",
        r#""timing":{"repeat":{"count":1,"duration":10,"durationUnit":"min"}}"#,
    ),
    (
        "run 300 mL at 60 mg/h, at most 70 mg/h",
        r#""doseQuantity":{"value":300,"unit":"mL","#,
    ),
    (
        "source \"Formulary of the house, 4.2\"",
        r#"{"type":"citation","display":"Formulary of the house, 4.2"}"#,
    ),
    (
        "review by 2027-11-01",
        r#""effectivePeriod":{"end":"2027-11-01"}"#,
    ),
    ("drug otherin", r#""code":{"text":"Otherin"}"#),
    ("phase first \"The first\"", r#""title":"first: The first""#),
    (
        "mix 50 mg added to 100 mL of saline",
        r#""value":105,"unit":"mL","#,
    ),
    (
        "run all over 60 min",
        r#""repeat":{"count":1,"duration":60,"durationUnit":"min"}"#,
    ),
    ("phase second", r#""title":"second""#),
    (
        "mix 100 mg added to 500 mL of saline",
        r#""value":510,"unit":"mL","#,
    ),
    (
        "run 200 mL over 4 h",
        r#""rateRatio":{"numerator":{"value":200,"unit":"mL","#,
    ),
    (
        "run 2 mL/kg at 40 drops/min every 6 h for 4 doses",
        r#""repeat":{"count":4,"duration":50,"durationUnit":"min","frequency":1,"period":6,"periodUnit":"h"}"#,
    ),
    (
        "include plain-order",
        r#""selectionBehavior":"all","action":[{"id":"order-1","#,
    ),
    ("source \"Set book\"", r#""display":"Set book""#),
    (
        "premixed 50 mg in 500 mL of saline",
        r#""value":50,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"},"denominator":{"value":500,"unit":"mL","#,
    ),
    (
        "undiluted 10 mL",
        r#""value":100,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"},"denominator":{"value":10,"unit":"mL","#,
    ),
    (
        "hang 500 mL of saline",
        r#""code":{"text":"A plain fluid: hang 500 mL of saline"}"#,
    ),
    // What goes with them.
    (
        "bolus 50 mg over 10 min, at most 60 mg",
        r#""maxDosePerAdministration":{"value":60,"unit":"mg","#,
    ),
    (
        "run 300 mL at 60 mg/h, at most 70 mg/h",
        r#""rateQuantity":{"value":60,"unit":"mg/h","#,
    ),
    (
        "run 300 mL at 60 mg/h, at most 70 mg/h",
        r#""numerator":{"value":70,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"},"denominator":{"value":1,"unit":"h","#,
    ),
    (
        "patient age 18 to 80 years",
        r#""high":{"value":80,"unit":"years","#,
    ),
    (
        "mix 500 mg made up to 500 mL with saline",
        r#"{"numerator":{"value":475,"unit":"mL","#,
    ),
    (
        "order plain-order \"Every line\"",
        r#""name":"PlainOrder","title":"Every line","status":"draft","experimental":true"#,
    ),
];

#[test]
fn every_line_is_expressed_or_listed() {
    let folder = Folder::new(&[("gutta.toml", ""), ("every.gtt", EVERY)]);
    for ran in kept(&folder, "every", &[]) {
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        let listed = listed(&ran);
        // What authors wrote has its quotes escaped: no text looks like a field.
        let fields: String = ran.out.lines().map(str::trim).collect();
        let fields = fields.replace("\": ", "\":");
        for (number, line) in EVERY.lines().enumerate() {
            if line.is_empty() || !line.starts_with(' ') {
                continue;
            }
            let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
            let place = format!("every.gtt:{},", number + 1);
            let told = listed.iter().find(|(_, why)| why.starts_with(&place));
            if let Some((text, _)) = told {
                let said = ["in words only: ", "left out: "].map(|kept| format!("{kept}{line}"));
                assert!(said.contains(text), "{text}");
                continue;
            }
            let held: Vec<_> = EXPRESSED.iter().filter(|(of, _)| *of == line).collect();
            assert!(!held.is_empty(), "neither expressed nor listed: {line}");
            for (_, field) in held {
                assert!(fields.contains(field), "{line}: {field}");
            }
        }
    }
}
