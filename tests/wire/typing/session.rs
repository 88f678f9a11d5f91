//! What was kept through a long session is what a fresh look finds.

use serde_json::{Value, json};

use super::{ask, examples, setup, turn};
use crate::support::Client;

/// A generator of numbers, the same in every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        // SplitMix64 (Steele, Lea, Flood 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) % below.max(1) as u64) as usize
    }
}

/// Thousands of edits, questions, openings and closings at random: in the end
/// the server finds what a fresh one finds.
#[test]
fn a_random_session_ends_where_a_fresh_one_begins() {
    let files = examples();
    let orders: Vec<_> = files
        .iter()
        .filter(|(path, _)| path.ends_with(".gtt"))
        .collect();
    let mut dice = Dice(20_261_125);
    let mut client = setup(&files).start();
    for step in 0..3_000 {
        let (path, _) = orders[dice.roll(orders.len())];
        if !client.open.contains_key(path) {
            if dice.roll(3) > 0 {
                continue;
            }
            client.open(path);
        }
        match dice.roll(40) {
            0 => client.close(path),
            1..=4 => {
                let byte = boundary(client.text(path), &mut dice);
                ask(&mut client, path, byte, turn(step));
            }
            _ => edit(&mut client, path, &orders, &mut dice),
        }
    }
    let open: Vec<_> = client.open.keys().cloned().collect();
    assert!(open.len() > 5, "{open:?}");
    let held: Vec<(String, String)> = files
        .iter()
        .map(|(path, text)| {
            let open = client
                .open
                .get(path)
                .map(|(text, _)| text.as_str().to_owned());
            (path.clone(), open.unwrap_or_else(|| text.clone()))
        })
        .collect();
    let mut fresh = setup(&held).start();
    let wanted = found(&mut fresh);
    let kept = found(&mut client);
    for (path, findings) in &wanted {
        assert_eq!(kept.get(path), Some(findings), "{path}");
    }
    assert_eq!(kept.len(), wanted.len());
    for path in &open {
        fresh.open(path);
        let document = |client: &Client| json!({ "textDocument": { "uri": client.url(path) } });
        for method in [
            "textDocument/semanticTokens/full",
            "textDocument/foldingRange",
            "textDocument/documentSymbol",
        ] {
            let params = document(&client);
            let here = client.request(method, params);
            let params = document(&fresh);
            let there = fresh.request(method, params);
            assert_eq!(
                without_ids(here, &client),
                without_ids(there, &fresh),
                "{path} {method}"
            );
        }
    }
}

/// All findings of all files, by path.
fn found(client: &mut Client) -> std::collections::BTreeMap<String, String> {
    let report = client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let root = client.url("");
    let items = report["items"].as_array().unwrap();
    items
        .iter()
        .map(|item| {
            let path = item["uri"].as_str().unwrap().strip_prefix(&root).unwrap();
            let told = item["items"].to_string().replace(&root, "");
            (path.to_owned(), told)
        })
        .filter(|(_, told)| told != "[]")
        .collect()
}

fn without_ids(mut answer: Value, client: &Client) -> String {
    if let Some(answer) = answer.as_object_mut() {
        answer.remove("resultId");
    }
    answer.to_string().replace(&client.url(""), "")
}

fn boundary(text: &str, dice: &mut Dice) -> usize {
    place_at(text, dice.roll(text.len() + 1))
}

/// The place at or before the byte: at a character's border, and not between
/// a CR and its LF, where an editor has none.
fn place_at(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) || (text[..at].ends_with('\r') && text[at..].starts_with('\n'))
    {
        at -= 1;
    }
    at
}

fn edit(client: &mut Client, path: &str, orders: &[&(String, String)], dice: &mut Dice) {
    let text = client.text(path).to_owned();
    let from = boundary(&text, dice);
    match dice.roll(8) {
        // A stretch from elsewhere.
        0 => {
            let (_, other) = orders[dice.roll(orders.len())];
            let start = boundary(other, dice);
            let end = place_at(other, start + dice.roll(200)).max(start);
            client.edit(path, from..from, &other[start..end]);
        }
        // A stretch goes.
        1 => {
            let end = place_at(&text, from + dice.roll(60)).max(from);
            client.edit(path, from..end, "");
        }
        _ => {
            let pieces = [
                "\n",
                " ",
                "0",
                "5",
                ".",
                "m",
                "g",
                "/",
                "kg",
                "\"",
                "#",
                "order x \"X\"\n",
                "  run 5 mL/h\n",
                "é",
                "𝕏",
                "\r\n",
                "use \"",
            ];
            client.edit(path, from..from, pieces[dice.roll(pieces.len())]);
        }
    }
}
