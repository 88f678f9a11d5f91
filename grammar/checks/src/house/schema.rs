//! The JSON Schema of `gutta.toml`, made from the rows that it is read by.

use std::fs;
use std::path::Path;

use gutta_protocol::House;
use gutta_protocol::house::settings::{Form, SETTINGS, Setting, TABLES};
use serde_json::{Map, Value, json};

use crate::rules;

fn of_setting(setting: &Setting) -> Value {
    let mut text = Map::new();
    text.insert("type".to_owned(), "string".into());
    if let Some(pattern) = setting.form.pattern() {
        text.insert("pattern".to_owned(), pattern.into());
    }
    if let Form::Word(words, _) = setting.form {
        text.insert("enum".to_owned(), json!(words));
    }
    let mut of_setting = match setting.form.is_list() {
        true => Map::from_iter([
            ("type".to_owned(), "array".into()),
            ("items".to_owned(), text.into()),
        ]),
        false => text,
    };
    of_setting.insert("description".to_owned(), setting.about.into());
    let value =
        |written: &str| serde_json::from_str::<Value>(written).expect("a value of JSON too");
    if let Some(default) = setting.default {
        of_setting.insert("default".to_owned(), value(default));
    }
    of_setting.insert("examples".to_owned(), json!([value(setting.example)]));
    of_setting.into()
}

fn table(name: &str) -> Map<String, Value> {
    let own = SETTINGS.iter().filter(|setting| setting.table == name);
    own.map(|setting| (setting.key.to_owned(), of_setting(setting)))
        .collect()
}

/// Each rule that is not locked, with its severity.
fn severities() -> Map<String, Value> {
    let open = rules().iter().filter(|rule| !rule.locked);
    let of_rule = |rule: &crate::Rule| {
        let of_rule = json!({
            "description": rule.sentence(),
            "enum": ["error", "warning", "information", "hint"],
            "default": rule.severity.word(),
        });
        (rule.name.to_owned(), of_rule)
    };
    open.map(|rule| of_rule(rule)).collect()
}

fn schema() -> Value {
    let mut properties = table("");
    for (name, about) in TABLES {
        let own = match name {
            "severity" => severities(),
            name => table(name),
        };
        let of_table = json!({
            "type": "object",
            "description": about,
            "properties": own,
            "additionalProperties": false,
        });
        properties.insert(name.to_owned(), of_table);
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "gutta.schema.json",
        "title": "gutta.toml",
        "description": "The settings of a hospital. A key that is not among these is refused.",
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    })
}

#[test]
fn the_schema_in_the_tree_is_the_rows() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../editors/gutta.schema.json");
    let mut text = serde_json::to_string_pretty(&schema()).unwrap();
    text.push('\n');
    if std::env::var_os("GUTTA_DRAW").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let held = fs::read_to_string(&path).unwrap();
    assert!(held == text, "draw it again with GUTTA_DRAW=1");
}

/// What the schema shows as an example or a default is a value to the reader, and
/// matches the pattern.
#[test]
fn the_schemas_values_are_read() {
    for setting in &SETTINGS {
        for value in setting.default.iter().chain([&setting.example]) {
            let table = match setting.table {
                "" => String::new(),
                table => format!("[{table}]\n"),
            };
            let text = format!("{table}{} = {value}\n", setting.key);
            assert!(House::from_toml(&text).is_ok(), "{text}");
        }
    }
}
