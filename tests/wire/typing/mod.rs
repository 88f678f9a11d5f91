//! Half-typed text of every kind is answered, and what was kept on the way
//! is what a fresh look finds.

mod calm;
mod session;

use serde_json::{Value, json};

use crate::support::{Client, Setup, program};

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

/// The examples' order files. With a program built for speed (see
/// [`program`]) all of them; else every ninth from the `first` on, for a debug
/// build takes a quarter of an hour over all.
fn some(files: &[(String, String)], first: usize) -> Vec<&(String, String)> {
    let orders = files.iter().filter(|(path, _)| path.ends_with(".gtt"));
    let step = if program().is_some() { 1 } else { 9 };
    orders.skip(first % step).step_by(step).collect()
}

/// Which of the questions are asked where: one of them in turn, or all with
/// `GUTTA_ASK=all` (an hour, for all examples).
fn turn(place: usize) -> impl Fn(usize) -> bool {
    let all = std::env::var_os("GUTTA_ASK").is_some_and(|asked| asked == "all");
    move |question| all || place % QUESTIONS == question
}

/// How many questions there are.
const QUESTIONS: usize = 23;

/// Every request that speaks of a place or a stretch.
pub(crate) fn questions(
    client: &Client,
    path: &str,
    position: &Value,
) -> Vec<(&'static str, Value)> {
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

/// Types example files from nothing; at every prefix something is asked, and
/// in turn everything.
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
            ask(&mut client, path, typed, turn(number));
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
    for (path, text) in some(&files, 3) {
        client.open(path);
        let before = client.findings(path);
        for (number, (at, character)) in text.char_indices().enumerate() {
            let end = at + character.len_utf8();
            client.edit(path, at..end, "");
            ask(&mut client, path, at, turn(number));
            client.edit(path, at..at, &text[at..end]);
        }
        assert_eq!(before, client.findings(path), "{path}");
        client.close(path);
    }
}
