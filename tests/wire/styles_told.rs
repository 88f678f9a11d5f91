//! Everything that the server says to people, in every way in which a house may
//! write: no number in other groups, no unit in another spelling, and each
//! change on offer reads in that house.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::styles::{HOUSES, House};
use crate::support::{Client, Setup};
use crate::voice::foreign;

/// The orders of large numbers, beside each page's bad example in a repository
/// of its own.
struct Session {
    house: House,
    client: Client,
    pages: Vec<String>,
    /// What of the open file may be quoted.
    source: String,
    faults: String,
}

/// For programs, or where something stands; a drawing's decimals among it.
const FOR_PROGRAMS: [&str; 12] = [
    "uri", "href", "target", "data", "code", "kind", "command", "sortText", "strokes", "at",
    "from", "to",
];

/// The pages about how a number or a unit is written: what they are about stands
/// in them.
const ABOUT_WRITING: [&str; 4] = [
    "text.thousands",
    "text.decimal-comma",
    "text.risky-unit",
    "text.printed",
];

impl Session {
    fn of(house: House) -> Self {
        let mut files = vec![
            ("gutta.toml".to_owned(), house.toml.to_owned()),
            ("large.gtt".to_owned(), house.large()),
        ];
        let mut pages = Vec::new();
        for (rule, bad, _) in house.pages() {
            let path = |name: &str| format!("pages/{rule}/{name}");
            files.push((path("gutta.toml"), house.toml.to_owned()));
            files.push((path("tarnwick.gtt"), house.reference()));
            files.push((path("page.gtt"), bad));
            pages.push(path("page.gtt"));
        }
        let files = files.iter();
        let setup = Setup::new(files.map(|(path, text)| (path.as_str(), text.as_str())));
        Self {
            house,
            client: setup.start(),
            pages,
            source: String::new(),
            faults: String::new(),
        }
    }

    fn open(&mut self, path: &str) {
        self.client.open(path);
        self.source = self.client.text(path).to_owned() + &self.house.reference();
    }

    /// Notes each text of the answer that is not as the house writes.
    fn look(&mut self, what: &str, answer: &Value) {
        match answer {
            Value::String(text) => {
                // What is said of the notation's words is the reference's own text.
                let spoken = !what.contains("ompletion");
                if let Some(turn) = spoken.then(|| foreign(text)).flatten() {
                    let _ = writeln!(self.faults, "{what}: {turn} in: {text}");
                }
                if let Some(foreign) = self.house.foreign(text, &self.source) {
                    let toml = self.house.toml.replace('\n', "; ");
                    let _ = writeln!(self.faults, "{toml}{what}: `{foreign}` in: {text}");
                }
            }
            Value::Array(values) => values.iter().for_each(|value| self.look(what, value)),
            Value::Object(values) => {
                let told = values.iter();
                let told = told.filter(|(key, _)| !FOR_PROGRAMS.contains(&key.as_str()));
                told.for_each(|(key, value)| self.look(&format!("{what} {key}"), value));
            }
            _ => {}
        }
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        let answer = self.client.request(method, params);
        self.look(method, &answer);
        answer
    }

    /// The same of what each entry comes to once it is seen.
    fn resolve(&mut self, method: &str, entries: &Value, most: usize) {
        for entry in entries.as_array().into_iter().flatten().take(most) {
            self.ask(method, entry.clone());
        }
    }

    /// Asks all that is asked of a whole file.
    fn whole(&mut self, path: &str) {
        let document = json!({ "uri": self.client.url(path) });
        let all = json!({
            "start": { "line": 0, "character": 0 },
            "end": { "line": 9_999, "character": 0 },
        });
        let of_file = json!({ "textDocument": document });
        let of_range = json!({ "textDocument": document, "range": all });
        let found = Value::Array(self.client.findings(path));
        self.look("findings", &found);
        let hints = self.ask("textDocument/inlayHint", of_range);
        self.resolve("inlayHint/resolve", &hints, usize::MAX);
        let lenses = self.ask("textDocument/codeLens", of_file.clone());
        self.resolve("codeLens/resolve", &lenses, usize::MAX);
        self.ask("textDocument/documentSymbol", of_file);
        let mut laid = json!({ "textDocument": document });
        laid["options"] = json!({ "tabSize": 2, "insertSpaces": true });
        self.ask("textDocument/formatting", laid);
        self.actions(path, &document);
    }

    /// Makes each change that is offered at a line, by itself.
    fn actions(&mut self, path: &str, document: &Value) {
        let before = self.client.text(path).to_owned();
        for line in 0..before.lines().count() {
            let at = json!({ "line": line, "character": 3 });
            let params = json!({
                "textDocument": document,
                "range": { "start": at, "end": { "line": line, "character": 80 } },
                "context": { "diagnostics": [] },
            });
            let offered = self.ask("textDocument/codeAction", params);
            for action in offered.as_array().unwrap() {
                let changes = action["edit"]["documentChanges"].as_array();
                for change in changes.into_iter().flatten() {
                    let edits = change["edits"].as_array().unwrap();
                    let url = change["textDocument"]["uri"].as_str().unwrap();
                    let text = self.client.text_of(url).unwrap();
                    let mut after = text.as_str().to_owned();
                    let mut spots: Vec<_> = edits
                        .iter()
                        .map(|edit| {
                            let spot = |end: &str| text.byte(&edit["range"][end]);
                            let new = edit["newText"].as_str().unwrap();
                            (spot("start"), spot("end"), new)
                        })
                        .collect();
                    spots.sort_unstable();
                    for (start, end, new) in spots.into_iter().rev() {
                        after.replace_range(start..end, new);
                    }
                    if let Some(worse) = self.house.reads_worse(text.as_str(), &after) {
                        let title = &action["title"];
                        let _ = writeln!(self.faults, "{path} {title}: {worse}");
                    }
                }
            }
        }
    }

    /// Asks this of a place, at each word that begins so.
    fn places(&mut self, path: &str, methods: &[&str], begins: fn(char) -> bool) {
        let text = self.client.text(path).to_owned();
        let words = text.match_indices(' ').map(|(at, _)| at + 1);
        let words = words.filter(|at| text[*at..].starts_with(begins));
        for byte in words {
            let position = self.client.open[path].0.position(byte);
            let place = json!({
                "textDocument": { "uri": self.client.url(path) },
                "position": position,
            });
            for method in methods {
                let answer = self.ask(method, place.clone());
                if *method == "textDocument/completion" {
                    let items = answer.get("items").unwrap_or(&answer).clone();
                    self.resolve("completionItem/resolve", &items, 2);
                }
            }
        }
    }

    #[track_caller]
    fn end(self) {
        assert!(self.faults.is_empty(), "{}", self.faults);
    }
}

fn everything_is_said_as_it_writes(house: House) {
    let mut session = Session::of(house);
    session.open("large.gtt");
    session.whole("large.gtt");
    let at_words = [
        "textDocument/hover",
        "textDocument/completion",
        "textDocument/signatureHelp",
    ];
    session.places("large.gtt", &at_words, char::is_alphanumeric);
    // Of every order and set: its title.
    session.places("large.gtt", &["gutta/derived"], |c| c == '"');
    session.client.close("large.gtt");
    for path in std::mem::take(&mut session.pages) {
        session.open(&path);
        session.whole(&path);
        if !ABOUT_WRITING.iter().any(|rule| path.contains(rule)) {
            session.places(&path, &["textDocument/hover"], |c| c.is_ascii_digit());
        }
        session.client.close(&path);
    }
    session.end();
}

#[test]
fn in_a_house_of_commas() {
    everything_is_said_as_it_writes(HOUSES[0]);
}

#[test]
fn in_a_house_of_commas_that_spells_micrograms() {
    everything_is_said_as_it_writes(HOUSES[1]);
}

#[test]
fn in_a_house_of_spaces() {
    everything_is_said_as_it_writes(HOUSES[2]);
}

#[test]
fn in_a_house_of_spaces_that_spells_micrograms() {
    everything_is_said_as_it_writes(HOUSES[3]);
}

/// The unit is offered behind a number of several groups too.
#[test]
fn a_unit_is_offered_behind_a_number_in_groups() {
    for house in HOUSES {
        let mut client = Session::of(house).client;
        client.open("large.gtt");
        let run = house.writes("run        all at 20,000 ");
        client.replace("large.gtt", &format!("{run}units/h"), &run);
        let place = client.place("large.gtt", &format!("{run}|"));
        let offered = client.request("textDocument/completion", place);
        let items = offered.get("items").unwrap_or(&offered).clone();
        let labels = items.as_array().unwrap().iter().map(|item| &item["label"]);
        let labels: Vec<_> = labels.collect();
        assert!(labels.contains(&&json!("units/h")), "{labels:?}");
    }
}
