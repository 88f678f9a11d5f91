//! Colours and layout.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const WARD: &str = "\
# 𝕏
order  a   \"é 𝕏\"
 mix 4 mg made up to 50 mL with d   # é
  run   all  at 5 mL/h
drug c \"C\"


  dosed in mg/h
";

const LAID: &str = "\
# 𝕏
order a \"é 𝕏\"
  mix        4 mg made up to 50 mL with d  # é
  run        all at 5 mL/h

drug c \"C\"

  dosed in   mg/h
";

fn ward(encoding: &'static str) -> Client {
    let setup = Setup::new([("ward.gtt", WARD), ("gutta.toml", "")]);
    let mut client = setup.encoding(encoding).start();
    client.open("ward.gtt");
    client
}

fn document(client: &Client) -> Value {
    json!({ "textDocument": { "uri": client.url("ward.gtt") } })
}

fn apply(client: &mut Client, edits: &Value) {
    client.check("ward.gtt", edits);
    let mut made: Vec<_> = edits.as_array().unwrap().clone();
    let key = |position: &Value| (position["line"].as_u64(), position["character"].as_u64());
    made.sort_by_key(|edit| key(&edit["range"]["start"]));
    for edit in made.iter().rev() {
        let text = client.text("ward.gtt").to_owned();
        let bounds = || (0..=text.len()).filter(|at| text.is_char_boundary(*at));
        let at = |client: &Client, wanted: &Value| {
            let open = &client.open["ward.gtt"].0;
            bounds().find(|at| open.position(*at) == *wanted).unwrap()
        };
        let bytes = at(client, &edit["range"]["start"])..at(client, &edit["range"]["end"]);
        let with = edit["newText"].as_str().unwrap();
        client.edit("ward.gtt", bytes, with);
    }
}

fn options() -> Value {
    json!({ "tabSize": 8, "insertSpaces": false })
}

#[test]
fn a_document_is_laid_out_as_the_command_would() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward(encoding);
        let mut params = document(&client);
        params["options"] = options();
        let edits = client.request("textDocument/formatting", params.clone());
        apply(&mut client, &edits);
        assert_eq!(client.text("ward.gtt"), LAID);
        let edits = client.request("textDocument/formatting", params);
        assert_eq!(edits, json!([]));
    }
}

#[test]
fn a_range_lays_out_its_stanzas() {
    let mut client = ward("utf-16");
    let mut params = document(&client);
    params["options"] = options();
    let at = client.position("ward.gtt", "do|sed");
    params["range"] = json!({ "start": at, "end": at });
    let edits = client.request("textDocument/rangeFormatting", params);
    apply(&mut client, &edits);
    let (head, _) = WARD.split_once("drug c").unwrap();
    let (_, tail) = LAID.split_once("drug c").unwrap();
    assert_eq!(client.text("ward.gtt"), format!("{head}\ndrug c{tail}"));
}

#[test]
fn a_line_is_laid_out_when_it_is_finished() {
    let mut client = ward("utf-16");
    client.replace("ward.gtt", "# é\n", "# é\n  ");
    let mut params = client.place("ward.gtt", "# é\n  |");
    params["options"] = options();
    params["ch"] = json!("\n");
    let edits = client.request("textDocument/onTypeFormatting", params);
    apply(&mut client, &edits);
    let laid = WARD.replace(
        " mix 4 mg made up to 50 mL with d   # é\n",
        "  mix        4 mg made up to 50 mL with d  # é\n  ",
    );
    assert_eq!(client.text("ward.gtt"), laid);
}

/// Each token's line, column, length and type, from the numbers.
fn decoded(data: &Value) -> Vec<(u64, u64, u64, u64)> {
    let numbers: Vec<_> = data
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one.as_u64().unwrap())
        .collect();
    assert_eq!(numbers.len() % 5, 0);
    let (mut line, mut column) = (0, 0);
    let mut tokens = Vec::new();
    for token in numbers.chunks(5) {
        if token[0] > 0 {
            line += token[0];
            column = 0;
        }
        column += token[1];
        tokens.push((line, column, token[2], token[3]));
    }
    tokens
}

/// That the tokens lie inside their lines, one behind the other.
fn check(client: &Client, data: &Value) {
    let text = &client.open["ward.gtt"].0;
    let mut end = (0, 0);
    for (line, column, length, _) in decoded(data) {
        assert!((line, column) >= end && length > 0);
        assert!(text.holds(line as usize, column as usize));
        assert!(text.holds(line as usize, (column + length) as usize));
        end = (line, column + length);
    }
}

#[test]
fn tokens_are_told_in_full_by_what_changed_and_by_range() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = ward(encoding);
        let legend = &client.capabilities["semanticTokensProvider"]["legend"]["tokenTypes"];
        let comment = legend
            .as_array()
            .unwrap()
            .iter()
            .position(|kind| kind == "comment");
        let params = document(&client);
        let full = client.request("textDocument/semanticTokens/full", params.clone());
        check(&client, &full["data"]);
        let width = client.open["ward.gtt"].0.width("# 𝕏") as u64;
        assert_eq!(
            decoded(&full["data"])[0],
            (0, 0, width, comment.unwrap() as u64)
        );
        let mut data = full["data"].as_array().unwrap().clone();
        let mut id = full["resultId"].clone();
        for (old, new) in [
            ("5 mL/h", "50 mL/kg/h  # 𝕏"),
            ("# é\n", "\n"),
            ("\ndrug", "\n\ndrug"),
            ("C", "C"),
        ] {
            client.replace("ward.gtt", old, new);
            let mut params = document(&client);
            params["previousResultId"] = id;
            let delta = client.request("textDocument/semanticTokens/full/delta", params);
            let edits = delta["edits"].as_array().unwrap();
            assert!(edits.len() <= 1);
            for edit in edits {
                let start = edit["start"].as_u64().unwrap() as usize;
                let end = start + edit["deleteCount"].as_u64().unwrap() as usize;
                assert!(end - start < data.len(), "only what differs");
                data.splice(start..end, edit["data"].as_array().unwrap().iter().cloned());
            }
            assert!(delta["resultId"].is_string());
            let full = client.request("textDocument/semanticTokens/full", document(&client));
            assert_eq!(full["data"], json!(data));
            check(&client, &full["data"]);
            id = full["resultId"].clone();
        }
        let mut params = document(&client);
        params["previousResultId"] = json!("of another time");
        let whole = client.request("textDocument/semanticTokens/full/delta", params);
        assert_eq!(whole["data"], json!(data));
        let mut params = document(&client);
        params["range"] = json!({
            "start": client.position("ward.gtt", "|drug c"),
            "end": client.position("ward.gtt", "dosed|"),
        });
        let part = client.request("textDocument/semanticTokens/range", params);
        check(&client, &part["data"]);
        let all = decoded(&json!(data));
        let part = decoded(&part["data"]);
        assert!(!part.is_empty() && part.len() < all.len());
        assert!(part.iter().all(|token| all.contains(token)));
    }
}

#[test]
fn no_place_is_edited_along_with_another() {
    let client = ward("utf-16");
    assert!(
        client
            .capabilities
            .get("linkedEditingRangeProvider")
            .is_none()
    );
}
