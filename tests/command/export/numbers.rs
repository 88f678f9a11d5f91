//! Numbers: exact, or in words.

use serde_json::{Value, json};

use super::{export, kept, listed, resources, with_set};
use crate::support::{Folder, REFERENCE, RIGHT};

#[test]
fn numbers_are_exact() {
    let folder = with_set();
    let ran = export(&folder, "r4", &["--order", "fluid"]);
    // 500 mL over 7 h has no decimal: 71.43 mL/h would be another flow.
    let dosage = resources(&ran, "ActivityDefinition").remove(0)["dosage"][0].take();
    let rate = &dosage["doseAndRate"][0]["rateRatio"];
    assert_eq!(rate["numerator"]["value"], 500);
    assert_eq!(rate["denominator"]["value"], 7);
    let text = dosage["text"].as_str().unwrap();
    assert!(
        text.contains("flow about 71.4 mL/h (rounded; exactly 500/7 mL/h)"),
        "{text}"
    );

    // Every digit that an author may write.
    let exact = RIGHT.replace("0.06 mcg", "0.06123456789 mcg");
    let ran = export(&Folder::with_order(&exact), "r5", &[]);
    assert!(
        ran.out.contains("\"value\": 0.06123456789,\n"),
        "{}",
        ran.err
    );
}

#[test]
fn what_has_no_decimal_is_in_words_and_listed() {
    let order = RIGHT
        .replace("4 mg made up to 50 mL with", "5 mg added to 100 mL of")
        .replace("all at 0.06 mcg/kg/min", "all over 7 h");
    let folder = Folder::with_order(&order);
    let thirds = REFERENCE.replace("4 mg in 4 mL", "7 mg in 3 mL");
    folder.write("reference.gtt", thirds.as_bytes());
    for ran in kept(&folder, "thirds", &[]) {
        // 5 mg of 7 mg in 3 mL are 15/7 mL, which make the bag 715/7 mL.
        let medications = resources(&ran, "Medication");
        let bag = medications.last().unwrap();
        assert_eq!(
            (&bag["amount"], &bag["totalVolume"]),
            (&Value::Null, &Value::Null)
        );
        let ingredient = &bag["ingredient"][0];
        let strength = ingredient
            .get("strength")
            .or(ingredient.get("strengthRatio"));
        // 5 mg in 715/7 mL, in whole numbers.
        assert_eq!(strength.unwrap()["numerator"]["value"], 7);
        assert_eq!(strength.unwrap()["denominator"]["value"], 143);
        let listed = listed(&ran);
        for (line, why) in [
            (
                "mix 5 mg",
                "its volume depends on the patient, or has no decimal",
            ),
            (
                "run all",
                "its volume has no decimal: it is in words, rounded",
            ),
        ] {
            let is_listed =
                |(text, told): &(String, String)| text.contains(line) && told.ends_with(why);
            assert!(listed.iter().any(is_listed), "{line}: {listed:?}");
        }
        let dosage = resources(&ran, "ActivityDefinition").remove(0)["dosage"][0].take();
        let text = dosage["text"].as_str().unwrap();
        assert!(
            text.contains("volume about 102 mL (rounded; exactly 715/7 mL)"),
            "{text}"
        );
        assert_eq!(dosage["doseAndRate"][0]["doseQuantity"], Value::Null);
    }
}

#[test]
fn a_dose_that_stops_growing_is_in_words() {
    let order = RIGHT.replace("  route", "  dosing weight up to 100 kg\n  route");
    let ran = export(&Folder::with_order(&order), "r5", &[]);
    let activity = resources(&ran, "ActivityDefinition").remove(0);
    assert!(
        !activity["dosage"].to_string().contains("ug/kg/min"),
        "{activity}"
    );
    let why = "a number without that would give too much";
    assert!(
        listed(&ran)
            .iter()
            .any(|(text, told)| text.contains("run all") && told.contains(why))
    );
    let text = activity["dosage"][0]["text"].as_str().unwrap();
    assert!(text.contains("run all at 0.06 mcg/kg/min"), "{text}");
}

/// One dosage, and what is listed of its line.
fn with_cap(run: &str) -> (Value, String) {
    let order = RIGHT
        .replace("pump       syringe", "giving-set macro")
        .replace("then       renew", "then       stop")
        .replace("run        all at 0.06 mcg/kg/min", run);
    let folder = Folder::with_order(&order);
    let macro_set = "\ngiving-set macro\n  drops      20 per mL\n";
    folder.write(
        "reference.gtt",
        format!("{REFERENCE}{macro_set}").as_bytes(),
    );
    let ran = export(&folder, "r4", &[]);
    let mut activities = resources(&ran, "ActivityDefinition");
    assert_eq!(activities.len(), 1, "{}", ran.err);
    let listed = listed(&ran)
        .into_iter()
        .filter(|(text, _)| text.contains("run "));
    let whys = listed.map(|(_, why)| why).collect::<Vec<_>>().join("\n");
    (activities.remove(0)["dosage"][0].take(), whys)
}

#[test]
fn a_number_without_its_lid_is_in_words() {
    let (held, whys) = with_cap("run        all at 0.06 mcg/kg/min, at most 5 mcg/min");
    assert_eq!(held["doseAndRate"][0]["rateQuantity"]["value"], json!(0.06));
    assert_eq!(held["maxDosePerPeriod"]["numerator"]["value"], 5);
    assert_eq!(whys, "");
    // A cap in drops has no code of a unit.
    let (words, whys) = with_cap("run        all at 0.06 mcg/kg/min, at most 2 drops/min");
    assert!(
        !words["doseAndRate"].to_string().contains("ug/kg/min"),
        "{words}"
    );
    assert!(whys.contains("no field holds its maximum: a number without it would give too much"));
    assert!(
        words["text"]
            .as_str()
            .unwrap()
            .contains("at most 2 drops/min")
    );
    // 0.1 mL/kg over an hour is faster than what its cap leaves over an hour.
    let (capped, _) = with_cap("run        0.1 mL/kg, at most 4.5 mL, over 60 min");
    let ordered = &capped["doseAndRate"][0];
    assert_eq!(ordered["doseQuantity"]["code"], "mL/kg");
    assert_eq!(ordered["rateRatio"], Value::Null);
    assert_eq!(capped["maxDosePerAdministration"]["value"], json!(4.5));
    assert_eq!(capped["timing"]["repeat"]["duration"], 60);
}
