//! Half-typed text of every kind is answered, and what was kept on the way
//! is what a fresh look finds.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

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

/// The example hospital, from the disk.
fn examples() -> Vec<(String, String)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path
                .extension()
                .is_some_and(|end| end == "gtt" || end == "toml")
            {
                let name = path.strip_prefix(&root).unwrap().to_str().unwrap();
                found.push((name.to_owned(), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

fn setup(files: &[(String, String)]) -> Setup {
    Setup::new(
        files
            .iter()
            .map(|(path, text)| (path.as_str(), text.as_str())),
    )
}

/// Every third example's order file from the `first` on: all of them take
/// minutes in a debug build. With `GUTTA_ALL` set, all of them.
fn some(files: &[(String, String)], first: usize) -> Vec<&(String, String)> {
    let orders = files.iter().filter(|(path, _)| path.ends_with(".gtt"));
    if std::env::var_os("GUTTA_ALL").is_some() {
        return orders.collect();
    }
    orders.skip(first).step_by(3).collect()
}

/// Every request that speaks of a place or a stretch.
fn questions(client: &Client, path: &str, position: &Value) -> Vec<(&'static str, Value)> {
    let document = json!({ "uri": client.url(path) });
    let place = json!({ "textDocument": document, "position": position });
    let range = json!({ "start": position, "end": { "line": position["line"].as_u64().unwrap() + 12, "character": 0 } });
    let stretch = json!({ "textDocument": document, "range": range });
    let whole = json!({ "textDocument": document });
    let with = |value: &Value, key: &str, more: Value| {
        let mut value = value.clone();
        value[key] = more;
        value
    };
    vec![
        ("textDocument/hover", place.clone()),
        ("textDocument/completion", place.clone()),
        ("textDocument/signatureHelp", place.clone()),
        ("textDocument/definition", place.clone()),
        ("textDocument/declaration", place.clone()),
        ("textDocument/documentHighlight", place.clone()),
        (
            "textDocument/references",
            with(&place, "context", json!({ "includeDeclaration": true })),
        ),
        ("textDocument/prepareRename", place.clone()),
        (
            "textDocument/rename",
            with(&place, "newName", json!("another-name")),
        ),
        ("textDocument/prepareCallHierarchy", place.clone()),
        (
            "textDocument/onTypeFormatting",
            with(
                &with(&place, "ch", json!("\n")),
                "options",
                json!({ "tabSize": 2, "insertSpaces": true }),
            ),
        ),
        (
            "textDocument/selectionRange",
            json!({ "textDocument": document, "positions": [position] }),
        ),
        ("textDocument/inlayHint", stretch.clone()),
        (
            "textDocument/codeAction",
            with(&stretch, "context", json!({ "diagnostics": [] })),
        ),
        ("textDocument/semanticTokens/range", stretch.clone()),
        (
            "textDocument/rangeFormatting",
            with(
                &stretch,
                "options",
                json!({ "tabSize": 2, "insertSpaces": true }),
            ),
        ),
        (
            "textDocument/formatting",
            with(
                &whole,
                "options",
                json!({ "tabSize": 2, "insertSpaces": true }),
            ),
        ),
        ("textDocument/documentSymbol", whole.clone()),
        ("textDocument/foldingRange", whole.clone()),
        ("textDocument/codeLens", whole.clone()),
        ("textDocument/documentLink", whole.clone()),
        ("textDocument/semanticTokens/full", whole.clone()),
        ("textDocument/diagnostic", whole),
    ]
}

/// Asks the questions of `chosen` numbers, and checks each answer's places.
fn ask(client: &mut Client, path: &str, byte: usize, chosen: impl Fn(usize) -> bool) {
    let position = client.open[path].0.position(byte);
    let asked: Vec<_> = questions(client, path, &position)
        .into_iter()
        .enumerate()
        .filter(|(number, _)| chosen(*number))
        .map(|(_, (method, params))| (method, client.send(method, params)))
        .collect();
    for (method, id) in asked {
        match client.answer(id) {
            Ok(answer) => client.check(path, &answer),
            // A rename may be refused, in words.
            Err(error) => assert!(
                method.ends_with("ename") && error["code"] != -32603,
                "{method}: {error}"
            ),
        }
    }
}

/// One prefix in so many is asked about, in turn by every question.
const EVERY: usize = 5;

/// Types example files from nothing; at every prefix something is asked, and
/// in turn everything. The line being typed may be unread; the lines above it
/// are not drawn into it.
#[test]
fn every_prefix_of_the_examples_is_answered() {
    let files = examples();
    for (path, text) in some(&files, 0) {
        let mut client = setup(&files).start();
        client.open_with(path, "");
        let mut typed = 0;
        for (number, character) in text.chars().enumerate() {
            let with = character.to_string();
            client.edit(path, typed..typed, &with);
            typed += with.len();
            if number % EVERY == 0 {
                ask(&mut client, path, typed, |question| {
                    number / EVERY % 23 == question
                });
            }
        }
        ask(&mut client, path, typed / 2, |_| true);
        let kept = client.findings(path);
        client.close(path);
        client.open_with(path, text);
        assert_eq!(kept, client.findings(path), "{path}");
    }
}

/// Deletes one character at a time and puts it back.
#[test]
fn every_deletion_is_answered() {
    let files = examples();
    let mut client = setup(&files).start();
    for (path, text) in some(&files, 1) {
        client.open(path);
        let before = client.findings(path);
        for (number, (at, character)) in text.char_indices().enumerate() {
            // In a debug build one in three is slow enough.
            if number % 3 > 0 {
                continue;
            }
            let end = at + character.len_utf8();
            client.edit(path, at..end, "");
            ask(&mut client, path, at, |question| {
                number / 3 % 23 == question
            });
            client.edit(path, at..at, &text[at..end]);
        }
        assert_eq!(before, client.findings(path), "{path}");
        client.close(path);
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
                ask(&mut client, path, byte, |question| step % 23 == question);
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
