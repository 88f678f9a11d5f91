//! Completion: what is offered, and that it fits where it is put.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const REFERENCE: &str = "\
solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
";

const WARD: &str = "\
use \"reference.gtt\"

order press \"Noradrenaline 𝕏 é\"
  drug       noradrenaline
  note       \"𝕐\"
  mix        4 mg made up to 50 mL with gluc
  run        all at 5 \u{20}
  waive      limit.
";

fn ward() -> Setup {
    Setup::new([("reference.gtt", REFERENCE), ("ward.gtt", WARD)])
}

/// What is offered at the `|`; every item's text replaces one and the same
/// stretch, which holds the cursor.
fn offered(client: &mut Client, marked: &str) -> Vec<Value> {
    let place = client.place("ward.gtt", marked);
    let answer = client.request("textDocument/completion", place.clone());
    client.check("ward.gtt", &answer);
    let items = answer.as_array().unwrap().clone();
    for item in &items {
        let range = &item["textEdit"]["range"];
        let line = &place["position"]["line"];
        assert_eq!(
            (&range["start"]["line"], &range["end"]["line"]),
            (line, line)
        );
    }
    items
}

fn labels(items: &[Value]) -> Vec<&str> {
    let labels = items.iter().map(|item| item["label"].as_str().unwrap());
    labels.collect()
}

#[test]
fn a_name_replaces_the_word_under_the_cursor() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward().encoding(encoding).start();
        client.open("ward.gtt");
        let items = offered(&mut client, "with gl|uc");
        assert_eq!(labels(&items), ["glucose-5"]);
        let text = &client.open["ward.gtt"].0;
        let range = &items[0]["textEdit"]["range"];
        let bytes = text.byte(&range["start"])..text.byte(&range["end"]);
        assert_eq!(&text.as_str()[bytes], "gluc");
        let read = client.request("completionItem/resolve", items[0].clone());
        let read = read["documentation"]["value"].as_str().unwrap();
        assert!(read.contains("contains   glucose 50 mg/mL"), "{read}");
    }
}

#[test]
fn units_begin_with_the_drugs_own() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let items = offered(&mut client, "at 5 |");
    assert_eq!(labels(&items)[0], "mcg/kg/min");
    assert!(!labels(&items).contains(&"h"));
}

#[test]
fn a_rule_comes_with_its_page() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let items = offered(&mut client, "limit.|");
    assert!(
        !labels(&items).contains(&"limit.never"),
        "it cannot be waived"
    );
    let unusual = items.iter().find(|item| item["label"] == "limit.unusual");
    let read = client.request("completionItem/resolve", unusual.unwrap().clone());
    let read = read["documentation"]["value"].as_str().unwrap();
    assert!(read.starts_with("# limit.unusual"), "{read}");
}

#[test]
fn whole_stanzas_are_for_clients_that_fill_them_in() {
    let order = |client: &mut Client| {
        client.open_with("ward.gtt", "\n");
        let items = offered(client, "|\n");
        let order = items.iter().find(|item| item["label"] == "order").unwrap();
        (
            order["insertTextFormat"].clone(),
            order["textEdit"]["newText"].clone(),
        )
    };
    let (format, text) = order(&mut ward().start());
    assert_eq!(format, 2);
    assert!(
        text.as_str().unwrap().contains("\n  mix        ${"),
        "{text}"
    );
    let section = "/textDocument/completion/completionItem";
    let mut lean = ward().lacking(section, "snippetSupport").start();
    assert_eq!(order(&mut lean), (json!(1), json!("order ")));
}
