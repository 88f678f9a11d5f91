//! What follows from the lines: hints, hovers, lenses, shapes of lines.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  dosed in   mcg/kg/min
  usual dose 0.01 to 0.5 mcg/kg/min

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL
";

// The comment's letters count differently in each encoding.
const WARD: &str = "\
use \"drugs.gtt\"

order noradrenaline \"Noradrenalin für 𝕏\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  note       \"𝕏 é\" # 𝕏
  run        all at 0.05 mcg/kg/min
  then       stop

set night
  include    noradrenaline
";

fn ward() -> Setup {
    Setup::new([("drugs.gtt", DRUGS), ("ward.gtt", WARD)])
}

fn all(client: &Client, path: &str) -> Value {
    json!({
        "textDocument": { "uri": client.url(path) },
        "range": { "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } },
    })
}

fn labels(hints: &Value) -> Vec<&str> {
    let hints = hints.as_array().unwrap().iter();
    hints.map(|hint| hint["label"].as_str().unwrap()).collect()
}

#[test]
fn hints_stand_behind_their_lines_and_hold_the_working() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward().encoding(encoding).start();
        client.open("ward.gtt");
        let params = all(&client, "ward.gtt");
        let hints = client.request("textDocument/inlayHint", params.clone());
        client.check("ward.gtt", &hints);
        let flow = "1.5 to 4.5 mL/h over 40 to 120 kg";
        let labels = labels(&hints);
        assert!(labels.contains(&"80 mcg/mL, draw up 4 mL"), "{labels:?}");
        let run = labels.iter().position(|label| label.starts_with(flow));
        let run = hints[run.unwrap_or_else(|| panic!("{labels:?}"))].clone();
        assert_eq!(run["position"]["line"], 8);
        let resolved = client.request("inlayHint/resolve", run.clone());
        let tooltip = resolved["tooltip"]["value"].as_str().unwrap();
        assert!(tooltip.contains("4 mg ÷ 50 mL = 0.08 mg/mL"), "{tooltip}");
        // What is of another text is not answered.
        client.replace("ward.gtt", "0.05 mcg", "0.06 mcg");
        let stale = client.request("inlayHint/resolve", run);
        assert!(stale["tooltip"].is_null());
        // An incomplete order shows no number.
        client.replace("ward.gtt", "glucose-5", "glucose-4");
        let hints = client.request("textDocument/inlayHint", params);
        assert_eq!(hints, json!([]));
    }
}

#[test]
fn hints_follow_the_settings() {
    let mut setup = ward();
    setup.options = json!({ "today": "2026-11-25", "hints": { "weight": "70 kg" } });
    let mut client = setup.start();
    client.open("ward.gtt");
    let params = all(&client, "ward.gtt");
    let hints = client.request("textDocument/inlayHint", params);
    let labels = labels(&hints);
    assert!(
        labels
            .iter()
            .any(|label| label.contains("2.625 mL/h at 70 kg")),
        "{labels:?}"
    );
}

#[test]
fn a_hover_tells_how_a_value_comes_about() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let place = client.place("ward.gtt", "r|un        all");
    let hover = client.request("textDocument/hover", place);
    client.check("ward.gtt", &hover);
    let text = hover["contents"]["value"].as_str().unwrap();
    assert!(text.contains("| weight |"), "{text}");
    assert!(text.contains("checked independently"), "{text}");
    let place = client.place("ward.gtt", "drug       norad|renaline");
    let hover = client.request("textDocument/hover", place);
    let text = hover["contents"]["value"].as_str().unwrap();
    assert!(text.contains("0.6 to 30 mcg/kg/h"), "{text}");
    let place = client.place("ward.gtt", "\"𝕏 |é\"");
    assert!(client.request("textDocument/hover", place).is_null());
}

#[test]
fn a_client_that_shows_plain_text_alone_gets_no_marks() {
    let mut client = ward()
        .lacking("/textDocument/hover", "contentFormat")
        .lacking(
            "/textDocument/signatureHelp/signatureInformation",
            "documentationFormat",
        )
        .lacking(
            "/textDocument/completion/completionItem",
            "documentationFormat",
        )
        .start();
    client.open("ward.gtt");
    let place = client.place("ward.gtt", "r|un        all");
    let hover = client.request("textDocument/hover", place.clone());
    let within = client.place("ward.gtt", "run        a|ll");
    let help = client.request("textDocument/signatureHelp", within);
    let range =
        json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let document = place["textDocument"].clone();
    let asked = json!({ "textDocument": document, "range": range });
    let hints = client.request("textDocument/inlayHint", asked);
    let hint = client.request("inlayHint/resolve", hints[0].clone());
    let items = client.request("textDocument/completion", place);
    let run = items.as_array().unwrap().iter();
    let run = run.clone().find(|item| item["label"] == "run").unwrap();
    let item = client.request("completionItem/resolve", run.clone());
    let texts = [
        &hover["contents"],
        &help["signatures"][0]["documentation"],
        &hint["tooltip"],
        &item["documentation"],
    ];
    for text in texts {
        assert_eq!(text["kind"], "plaintext", "{text}");
        let text = text["value"].as_str().unwrap();
        let marked = ["**", "`", "---"].iter().any(|mark| text.contains(mark));
        assert!(!marked && !text.is_empty(), "{text}");
    }
    let hover = hover["contents"]["value"].as_str().unwrap();
    assert!(hover.contains("\nweight  flow"), "{hover}");
    assert!(hover.contains("checked independently"), "{hover}");
}

#[test]
fn a_lens_of_an_older_text_says_that_its_words_are_on_the_way() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let document = json!({ "uri": client.url("ward.gtt") });
    let lenses = client.request("textDocument/codeLens", json!({ "textDocument": document }));
    client.replace("ward.gtt", "run        all", "run         all");
    let resolved = client.request("codeLens/resolve", lenses[0].clone());
    assert_eq!(resolved["command"]["title"], "…");
    assert_eq!(resolved["command"]["command"], "");
}

#[test]
fn lenses_are_resolved_when_they_are_seen() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let url = client.url("ward.gtt");
    let params = json!({ "textDocument": { "uri": url } });
    let lenses = client.request("textDocument/codeLens", params);
    client.check("ward.gtt", &lenses);
    let titles = lenses.as_array().unwrap().iter().map(|lens| {
        assert!(lens["command"].is_null());
        let resolved = client.request("codeLens/resolve", lens.clone());
        resolved["command"]["title"].as_str().unwrap().to_owned()
    });
    let titles: Vec<_> = titles.collect();
    assert_eq!(
        titles,
        [
            "40 to 120 kg \u{b7} 1.5 to 4.5 mL/h \u{b7} no worked example",
            "in 1 set"
        ]
    );
}

#[test]
fn the_shape_of_a_line_goes_with_the_cursor() {
    let mut client = ward().start();
    client.open("ward.gtt");
    let part = |client: &mut Client, marked: &str| {
        let place = client.place("ward.gtt", marked);
        let help = client.request("textDocument/signatureHelp", place);
        let active = &help["signatures"][help["activeSignature"].as_u64().unwrap() as usize];
        let part = help["activeParameter"].as_u64().unwrap() as usize;
        let ends = &active["parameters"][part]["label"];
        let label: Vec<u16> = active["label"].as_str().unwrap().encode_utf16().collect();
        let end = |at: usize| ends[at].as_u64().unwrap() as usize;
        String::from_utf16(&label[end(0)..end(1)]).unwrap()
    };
    assert_eq!(part(&mut client, "run        |all"), "WHAT");
    assert_eq!(part(&mut client, "run        all at 0.05| mcg"), "at RATE");
    assert_eq!(part(&mut client, "made up to |50 mL"), "made up to VOLUME");
    let place = client.place("ward.gtt", "route      |central");
    assert!(
        client
            .request("textDocument/signatureHelp", place)
            .is_null()
    );
}

#[test]
fn the_view_is_given_everything_as_text() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward().encoding(encoding).start();
        client.open("ward.gtt");
        let place = client.place("ward.gtt", "run        |all");
        let derived = client.request("gutta/derived", place.clone());
        assert_eq!(derived["title"], "Noradrenalin für 𝕏");
        assert_eq!(derived["covers"], json!(["40 to 120 kg", "central vein"]));
        let caution = derived["caution"].as_str().unwrap();
        assert!(caution.contains("checked independently"), "{caution}");
        assert_eq!(derived["missing"], json!([]));
        let part = &derived["parts"][0];
        let strength = json!({ "measure": "strength", "value": "80 mcg/mL" });
        assert!(part["same"].as_array().unwrap().contains(&strength));
        let table = &part["tables"][0];
        assert_eq!(
            table["columns"][0],
            json!({ "measure": "flow", "unit": "mL/h" })
        );
        assert_eq!(table["rows"][0]["patient"], "40 kg");
        assert_eq!(table["rows"][0]["values"][0], "1.5");
        let lines = part["drawings"][0]["lines"].as_array().unwrap();
        let flow = json!([[{ "x": "40", "y": "1.5" }, { "x": "120", "y": "4.5" }]]);
        assert_eq!(lines[0]["strokes"], flow);
        let most = lines.iter().find(|line| {
            line["name"] == "maximum of usual dose 0.01 to 0.5 mcg/kg/min (noradrenaline)"
        });
        let most = most.unwrap_or_else(|| panic!("{lines:?}"));
        assert_eq!(
            (&most["kind"], &most["reach"]),
            (&json!("usual"), &json!("15 to 45 mL/h"))
        );
        // Nothing follows from an incomplete order, nor from no order.
        client.replace("ward.gtt", "glucose-5", "glucose-4");
        let derived = client.request("gutta/derived", place);
        assert_eq!(derived["parts"], json!([]));
        let missing = derived["missing"][0].as_str().unwrap();
        assert!(missing.contains("glucose-4"), "{missing}");
        let place = client.place("ward.gtt", "set |night");
        assert!(client.request("gutta/derived", place).is_null());
    }
}

#[test]
fn the_view_has_a_row_for_the_weight_that_is_set() {
    let mut setup = ward();
    setup.options = json!({ "today": "2026-11-25", "hints": { "weight": "71 kg" } });
    let mut client = setup.start();
    client.open("ward.gtt");
    let place = client.place("ward.gtt", "order nor|adrenaline");
    let derived = client.request("gutta/derived", place);
    let rows = derived["parts"][0]["tables"][0]["rows"].as_array().unwrap();
    let chosen: Vec<_> = rows.iter().filter(|row| row["chosen"] == true).collect();
    assert_eq!(chosen.len(), 1);
    assert_eq!(chosen[0]["patient"], "71 kg");
}
