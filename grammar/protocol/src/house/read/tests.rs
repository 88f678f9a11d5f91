use gutta_notation::{DigitGroups, Micro};
use gutta_quantity::Exact;

use crate::House;
use crate::Severity;
use crate::house::settings::{SETTINGS, commented};

fn ratio(num: i64, den: i64) -> Exact {
    Exact::ratio(num, den).unwrap()
}

#[test]
fn an_empty_file_is_the_default() {
    assert_eq!(House::from_toml(""), Ok(House::default()));
    assert_eq!(House::from_toml("# nothing yet\n"), Ok(House::default()));
}

#[test]
fn every_key_is_read() {
    let text = r#"
digit-groups = "space"
micrograms = "micrograms"
exclude = ["old/**", "drafts/*.gtt"]

[default]
pump = "syringe"
area = "adult-icu"
giving-set = "macro"

[house]
rounding-tolerance = "7.5 %"
counted-as-tolerance = "0.02"
peripheral-osmolarity = "0.8 mOsm/mL"
reference-tolerance = "12 %"
left-over = "60%"
left-in-line = "1 %"
marked-change = "20 %"
countable-drops = "10 to 120 drops/min"
line-delay = "0.5 h"
hang-time = "1 day"
syringe-marks = ["0.1 mL to 5 mL", "1 mL to 50 mL"]

[severity]
"flow.no-pump" = "warning"
review.none = "information"
"#;
    let house = House::from_toml(text).unwrap();
    assert_eq!(house.style.digit_groups, DigitGroups::Space);
    assert_eq!(house.style.micro, Micro::Micrograms);
    assert_eq!(house.pump.as_deref(), Some("syringe"));
    assert_eq!(house.area.as_deref(), Some("adult-icu"));
    assert_eq!(house.giving_set.as_deref(), Some("macro"));
    assert_eq!(house.rounding_tolerance, ratio(3, 40));
    assert_eq!(house.counted_as_tolerance, ratio(1, 50));
    assert_eq!(house.peripheral_osmolarity, Exact::int(800));
    assert_eq!(house.reference_tolerance, ratio(3, 25));
    assert_eq!(house.left_over, ratio(3, 5));
    assert_eq!(house.left_in_line, ratio(1, 100));
    assert_eq!(house.marked_change, ratio(1, 5));
    assert_eq!(
        (house.drops_low.clone(), house.drops_high.clone()),
        (Exact::int(10), Exact::int(120))
    );
    assert_eq!(house.line_delay, Exact::int(30));
    assert_eq!(house.hang_time, Some(Exact::int(1440)));
    assert_eq!(
        house.syringe_marks,
        [
            (Exact::int(5), ratio(1, 10)),
            (Exact::int(50), Exact::int(1))
        ]
    );
    assert_eq!(house.exclude, ["old/**", "drafts/*.gtt"]);
    assert_eq!(house.severity_of("flow.no-pump"), Some(Severity::Warning));
    assert_eq!(
        house.severity_of("review.none"),
        Some(Severity::Information)
    );
    assert_eq!(house.severity_of("review.overdue"), None);
    assert_eq!(house.position("pump"), (7, 1));
    assert_eq!(house.positions.len(), SETTINGS.len());
}

/// What `commented` writes sets nothing; each setting works when its `# ` goes,
/// and all do at once.
#[test]
fn each_commented_setting_works() {
    let text = commented();
    assert_eq!(House::from_toml(&text), Ok(House::default()), "{text}");
    let taken = text.replace("\n# ", "\n");
    let house = House::from_toml(&taken).unwrap();
    assert_eq!(house.positions.len(), SETTINGS.len(), "{taken}");
    assert_eq!(house.severity.len(), 1);
    for setting in &SETTINGS {
        let line = format!("\n# {} = ", setting.key);
        let one = text.replace(&line, &line.replace("# ", ""));
        let house = House::from_toml(&one).unwrap();
        assert_eq!(house.positions.len(), 1, "{one}");
        if setting.default.is_some() {
            let default = House {
                positions: house.positions.clone(),
                ..House::default()
            };
            assert_eq!(house, default, "{}", setting.key);
        }
    }
}

/// As the notation states them.
#[test]
fn what_holds_without_a_file() {
    let house = House::default();
    assert_eq!(house.rounding_tolerance, ratio(1, 10));
    assert_eq!(house.counted_as_tolerance, ratio(1, 20));
    assert_eq!(house.reference_tolerance, ratio(1, 10));
    assert_eq!(house.peripheral_osmolarity, Exact::int(900));
    assert_eq!(house.left_over, ratio(1, 2));
    assert_eq!(
        (house.drops_low, house.drops_high),
        (Exact::int(5), Exact::int(150))
    );
    assert_eq!(house.line_delay, Exact::int(30));
    assert_eq!(house.left_in_line, ratio(1, 10));
    assert_eq!(house.marked_change, ratio(1, 10));
    let marks: Vec<_> = house
        .syringe_marks
        .iter()
        .map(|(size, _)| size.clone())
        .collect();
    assert_eq!(marks, [1, 5, 10, 20, 60].map(Exact::int));
    assert_eq!(house.syringe_marks[0].1, ratio(1, 100));
    assert_eq!((house.hang_time, house.pump), (None, None));
}

#[track_caller]
fn fault(text: &str) -> String {
    let faults = House::from_toml(text).unwrap_err();
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    told.join("\n")
}

#[test]
fn every_fault_is_told() {
    let text = "\
[house]
hangtime = \"24 h\"
left-over = \"half\"

[severity]
\"review.none\" = \"off\"

[default]
colour = \"red\"
";
    assert_eq!(
        fault(text),
        "line 2, column 1: `hangtime` is not a key of `[house]`: was `hang-time` meant?\n\
         line 3, column 13: left-over is written as \"50 %\"\n\
         line 6, column 17: `review.none` takes \"error\", \"warning\", \"information\" or \"hint\"\n\
         line 9, column 1: `colour` is not a key of `[default]`: the keys here are pump, area, giving-set"
    );
}

#[test]
fn an_unknown_key_is_refused_with_the_nearest() {
    assert_eq!(
        fault("[house]\nhangtime = \"24 h\"\n"),
        "line 2, column 1: `hangtime` is not a key of `[house]`: was `hang-time` meant?"
    );
    assert_eq!(
        fault("pump = \"syringe\"\n"),
        "line 1, column 1: `pump` is not a key: it belongs in `[default]`"
    );
    assert_eq!(
        fault("[hous]\nhang-time = \"24 h\"\n"),
        "line 1, column 2: `hous` is not a key: was `house` meant?"
    );
    assert_eq!(
        fault("[default]\ncolour = \"red\""),
        "line 2, column 1: `colour` is not a key of `[default]`: the keys here are pump, area, giving-set"
    );
    assert_eq!(fault("house = 3"), "line 1, column 9: `[house]` is a table");
}

#[test]
fn a_number_stands_in_quotes_with_its_unit() {
    assert_eq!(
        fault("[house]\nrounding-tolerance = 0.1"),
        "line 2, column 22: rounding-tolerance is written as \"10 %\""
    );
    assert_eq!(
        fault("[house]\nhang-time = \"24\""),
        "line 2, column 13: hang-time is written as \"24 h\""
    );
    for wrong in [
        "\"0 h\"",
        "\"-1 h\"",
        "\"24 mg\"",
        "\"2 weeks\"",
        "\"1,000 h\"",
        "24",
    ] {
        fault(&format!("[house]\nhang-time = {wrong}"));
    }
    for wrong in [
        "\"0 %\"",
        "\"101 %\"",
        "\"1.5\"",
        "\"ten\"",
        "\"1e3 %\"",
        "true",
    ] {
        fault(&format!("[house]\nleft-over = {wrong}"));
    }
    for wrong in ["\"150 to 5 drops/min\"", "\"5 drops/min\"", "\"5 to 150\""] {
        fault(&format!("[house]\ncountable-drops = {wrong}"));
    }
}

#[test]
fn lists_and_severities_say_which_member_is_wrong() {
    assert_eq!(
        fault("exclude = [\"old/**\", 3]"),
        "line 1, column 22: exclude is a list with each member in quotes"
    );
    assert_eq!(
        fault("[house]\nsyringe-marks = [\"1 mL to 50 mL\", \"0.1 mL to 5 mL\"]"),
        "line 2, column 35: syringe-marks is a list with sizes in rising order"
    );
    assert_eq!(
        fault("[severity]\n\"flow.no-pump\" = \"off\"\n"),
        "line 2, column 18: `flow.no-pump` takes \"error\", \"warning\", \"information\" or \"hint\""
    );
}

#[test]
fn what_is_not_toml_is_a_fault_with_its_place() {
    assert!(fault("exclude = []\nmicrograms = \n").starts_with("line 2, "));
    assert!(fault("exclude = []\nexclude = []\n").starts_with("line 2, "));
}
