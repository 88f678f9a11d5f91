//! The items of published safe-writing lists, one test an item: written into an
//! order, each must be found, whatever is found with it.
//!
//! Joint Commission, "Do Not Use" list, official items (2009; seen). ISMP, List of
//! Error-Prone Abbreviations, Symbols, and Dose Designations (2021; seen in part).
//! What the lists hold and an order has no place for (subcutaneous `SC`, bedtime
//! `HS`) is met where it would stand.

use gutta_checks::{Options, Severity, check};
use gutta_protocol::{House, Workspace};

const REFERENCE: &str = r#"solution saline "Sodium chloride 0.9 %"
  contains   sodium 0.154 mmol/mL

drug heparin "Heparin sodium"
  supplied   20,000 units in 20 mL
  with       saline

drug magnesium-sulfate "Magnesium sulfate"
  supplied   5 g in 10 mL
  with       saline

drug morphine "Morphine sulfate"
  supplied   10 mg in 1 mL
  with       saline
"#;

/// The rules that speak loudly of an order with this line in the place of its
/// own of the same keyword.
fn found(line: &str) -> Vec<&'static str> {
    let keyword = line.split(' ').next().expect("a keyword");
    let drug = if line.contains(" g ") || line.contains("mg") || line.contains("mcg") {
        "drug morphine"
    } else {
        "drug heparin"
    };
    let own = [
        drug,
        "patient weight 50 to 100 kg",
        "route central vein",
        "mix 4,000 units made up to 50 mL with saline",
        "bolus 2 mL over 5 min",
        "run all at 5 mL/h",
        "then stop",
    ];
    let own = own.map(|own| match drug {
        "drug morphine" => own.replace("4,000 units", "40 mg"),
        _ => own.to_owned(),
    });
    let lines: String = own
        .iter()
        .map(|own| {
            let same = own.split(' ').next() == Some(keyword);
            format!("  {}\n", if same { line } else { own.as_str() })
        })
        .collect();
    let order = format!("{REFERENCE}\norder a \"A\"\n{lines}");
    let workspace = Workspace::new(vec![("a.gtt", order.as_str())], House::default());
    check(&workspace, None, &Options::default())
        .into_iter()
        .filter(|finding| finding.severity >= Severity::Warning)
        .map(|finding| finding.rule.name)
        .collect()
}

macro_rules! items {
    ($($name:ident: $line:literal => $rule:literal,)*) => {$(
        #[test]
        fn $name() {
            let found = found($line);
            assert!(found.contains(&$rule), "{}: {found:?}", $line);
        }
    )*};
}

#[test]
fn the_order_itself_is_right() {
    assert_eq!(found("run all at 5 mL/h"), Vec::<&str>::new());
    let morphine = found("mix 40 mg made up to 50 mL with saline");
    assert_eq!(morphine, Vec::<&str>::new());
}

// Joint Commission, official "Do Not Use" list.
items! {
    unit_as_capital_u: "mix 4,000 U made up to 50 mL with saline" => "text.risky-unit",
    unit_as_small_u: "mix 4,000 u made up to 50 mL with saline" => "text.risky-unit",
    international_unit: "mix 4,000 IU made up to 50 mL with saline" => "text.risky-unit",
    daily_as_qd: "run 10 mL over 1 h q.d." => "text.risky-unit",
    daily_as_qd_in_capitals: "run 10 mL over 1 h QD" => "text.risky-unit",
    every_other_day_as_qod: "run 10 mL over 1 h q.o.d." => "text.unreadable",
    trailing_zero: "run all at 5.0 mL/h" => "text.trailing-zero",
    no_leading_zero: "run all at .5 mL/h" => "text.bare-point",
    morphine_as_ms: "drug MS" => "text.risky-name",
    morphine_as_mso4: "drug MSO4" => "text.risky-name",
    magnesium_as_mgso4: "drug MgSO4" => "text.risky-name",
}

// ISMP, symbols and units.
items! {
    cubic_centimetre: "run all at 5 cc/h" => "text.risky-unit",
    microgram_sign: "run all at 5 µg/h" => "text.risky-unit",
    microgram_greek: "run all at 5 μg/h" => "text.risky-unit",
    millilitre_small: "run all at 5 ml/h" => "text.risky-unit",
    litre_small: "mix 40 mg made up to 1 l with saline" => "text.risky-unit",
    drops_as_gtt: "run all at 20 gtt/min" => "text.risky-unit",
    day_as_d: "run all at 40 mL/d" => "text.risky-unit",
    hour_as_hr: "run all at 5 mL/hr" => "text.risky-unit",
    unit_with_a_full_stop: "run all at 5 mL./h" => "unit.unknown",
    amount_with_a_full_stop: "mix 40 mg. made up to 50 mL with saline" => "text.risky-unit",
    per_as_a_second_slash: "run all at 5 mL/h/h" => "unit.wrong-kind",
    greater_than: "patient weight > 50 kg" => "text.unreadable",
    less_than: "patient weight < 100 kg" => "text.unreadable",
    at_sign: "run all @ 5 mL/h" => "text.unreadable",
    ampersand: "run all at 5 mL/h & over 10 h" => "text.unreadable",
    plus_sign: "run all at 5 mL/h + over 10 h" => "text.unreadable",
    degree_for_hour: "run all over 10°" => "unit.unknown",
}

// ISMP, doses and numbers.
items! {
    number_and_unit_together: "mix 40mg made up to 50 mL with saline" => "text.no-space",
    volume_and_unit_together: "mix 40 mg made up to 50mL with saline" => "text.no-space",
    large_without_commas: "mix 20000 units made up to 50 mL with saline" => "text.thousands",
    hundred_thousand: "mix 100000 units made up to 50 mL with saline" => "text.thousands",
    thousand_as_k: "mix 20K units made up to 50 mL with saline" => "unit.unknown",
    thousand_as_m: "mix 20M units made up to 50 mL with saline" => "unit.unknown",
    roman_numeral: "mix IV units made up to 50 mL with saline" => "text.unreadable",
    half: "mix 1/2 mg made up to 50 mL with saline" => "text.no-value",
    half_as_a_sign: "mix ½ mg made up to 50 mL with saline" => "text.no-value",
    for_three_days: "run 10 mL over 1 h every 8 h x3d" => "text.unreadable",
    dose_as_a_range_with_a_dash: "patient weight 50-100 kg" => "text.unreadable",
    decimal_comma: "run all at 0,5 mL/h" => "text.decimal-comma",
}

// ISMP, drugs and other abbreviations.
items! {
    drug_in_capitals: "drug Heparin" => "text.phrase",
    route_as_sc: "route SC" => "text.unreadable",
    route_as_iv: "route IV" => "text.unreadable",
    bedtime_as_hs: "run 10 mL over 1 h HS" => "text.unreadable",
    stop_as_dc: "then D/C" => "text.unreadable",
}

#[test]
fn a_ratio_for_a_strength() {
    let order = "drug adrenaline \"Adrenaline\"\n  supplied   1:1,000 in 1 mL\n";
    let workspace = Workspace::new(vec![("a.gtt", order)], House::default());
    let found = check(&workspace, None, &Options::default());
    let mut rules = found.iter().map(|finding| finding.rule.name);
    assert!(rules.any(|rule| rule == "text.ratio-strength"));
}
