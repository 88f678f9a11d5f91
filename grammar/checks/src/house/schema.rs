//! The JSON Schema of `gutta.toml`, made from these types: they hold what the
//! reader takes, in the form in which it is written.

use std::fs;
use std::path::Path;

use gutta_protocol::house::KEYS;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema, schema_for};

use crate::rules;

/// The settings of a house. A key that is not among these is refused.
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Settings {
    /// How thousands are parted, from 10,000 up.
    digit_groups: Option<DigitGroups>,
    /// The spelling of micrograms, and of nanograms with them.
    micrograms: Option<Micrograms>,
    /// Paths that are not checked, also where they are named on the command
    /// line: patterns as in a `.gitignore`, from this file's folder.
    exclude: Option<Vec<String>>,
    /// What holds where neither order nor area says it.
    default: Option<Defaults>,
    /// The house's own figures.
    house: Option<Figures>,
    /// Severities other than the rules' usual ones.
    severity: Option<Severities>,
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case")]
#[allow(dead_code, reason = "only its form is wanted")]
enum DigitGroups {
    Comma,
    Space,
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case")]
#[allow(dead_code, reason = "only its form is wanted")]
enum Micrograms {
    Mcg,
    Micrograms,
}

/// Names that the workspace declares.
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Defaults {
    /// The pump where neither order nor area names one.
    pump: Option<String>,
    /// The area where the order names none.
    area: Option<String>,
    /// The giving set where neither order nor area names one.
    giving_set: Option<String>,
}

/// A part of the whole: `10 %`, or `0.1`.
#[derive(JsonSchema)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Share(#[schemars(regex(pattern = r"^[0-9]+(\.[0-9]+)?( ?%)?$"))] String);

/// `30 min`, `24 h`, `2 days`.
#[derive(JsonSchema)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Time(#[schemars(regex(pattern = r"^[0-9]+(\.[0-9]+)? (s|min|h|days?)$"))] String);

/// Figures without a source, each with its default.
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Figures {
    /// How far the pump's rounding may change a dose: 10 %.
    rounding_tolerance: Option<Share>,
    /// How far a counted volume may be from the true one: 5 %.
    counted_as_tolerance: Option<Share>,
    /// How far two lines of a reference may say different things: 10 %.
    reference_tolerance: Option<Share>,
    /// Above this a peripheral vein is too small: 900 mOsm/L.
    #[schemars(regex(pattern = r"^[0-9]+(\.[0-9]+)? mOsm/L$"))]
    peripheral_osmolarity: Option<String>,
    /// How much of a bag may be thrown away without a word: 50 %.
    left_over: Option<Share>,
    /// What can be counted by eye: 5 to 150 drops/min.
    #[schemars(regex(
        pattern = r"^[0-9]+(\.[0-9]+)?( drops/min)? to [0-9]+(\.[0-9]+)? drops/min$"
    ))]
    countable_drops: Option<String>,
    /// How long a drug may need through its line: 30 min.
    line_delay: Option<Time>,
    /// How much of a dose may stay in the line: 10 %.
    left_in_line: Option<Share>,
    /// By how much a value may change between two states before `gutta
    /// compare` marks it: 10 %.
    marked_change: Option<Share>,
    /// From mark to mark, up to which size of syringe; in rising order.
    syringe_marks: Option<Vec<Marks>>,
    /// How long a bag may hang where its drug does not say; none.
    hang_time: Option<Time>,
}

/// `0.1 mL to 5 mL`.
#[derive(JsonSchema)]
#[allow(dead_code, reason = "only its form is wanted")]
struct Marks(
    #[schemars(regex(pattern = r"^[0-9]+(\.[0-9]+)? mL to [0-9]+(\.[0-9]+)? mL$"))] String,
);

/// Each rule that is not locked, with its severity.
struct Severities;

impl JsonSchema for Severities {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Severities".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let mut properties = serde_json::Map::new();
        for rule in rules().iter().filter(|rule| !rule.locked) {
            let of_rule = serde_json::json!({
                "description": rule.sentence(),
                "enum": ["error", "warning", "information", "hint"],
                "default": rule.severity.word(),
            });
            properties.insert(rule.name.to_owned(), of_rule);
        }
        json_schema!({
            "type": "object",
            "properties": properties,
            "additionalProperties": false,
        })
    }
}

fn schema() -> serde_json::Value {
    let mut schema = schema_for!(Settings);
    schema.insert("$id".to_owned(), "gutta.schema.json".to_owned().into());
    schema.insert("title".to_owned(), "gutta.toml".to_owned().into());
    schema.into()
}

#[test]
fn the_schema_in_the_tree_is_the_types() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../editors/gutta.schema.json");
    let mut text = serde_json::to_string_pretty(&schema()).unwrap();
    text.push('\n');
    if std::env::var_os("GUTTA_DRAW").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let held = fs::read_to_string(&path).unwrap();
    assert!(held == text, "draw it again with GUTTA_DRAW=1");
}

#[test]
fn the_schema_has_the_readers_keys() {
    let schema = schema();
    let table = |name: &str| {
        let properties = &schema["properties"];
        let of = if name.is_empty() {
            properties.clone()
        } else {
            let definition = if name == "house" {
                "Figures"
            } else {
                "Defaults"
            };
            schema["$defs"][definition]["properties"].clone()
        };
        let keys = of.as_object().unwrap().keys().cloned();
        keys.filter(|key| !["default", "house", "severity"].contains(&key.as_str()))
            .collect::<std::collections::BTreeSet<_>>()
    };
    for name in ["", "default", "house"] {
        let read = KEYS.iter().filter(|key| key.table == name);
        let read: std::collections::BTreeSet<_> = read.map(|key| key.name.to_owned()).collect();
        assert_eq!(table(name), read, "[{name}]");
    }
}
