//! Everything that the command prints for people, in every way in which a house
//! may write: no number in other groups, no unit in another spelling, and each
//! correction reads in that house.

mod findings;
mod follows;
mod papers;

use std::fmt::Write;

use serde_json::Value;

use crate::styles::House;
use crate::support::{Folder, Ran};

/// A repository of the house: the orders of large numbers, the example
/// hospital, and each page's bad example in a repository of its own.
struct Written {
    house: House,
    folder: Folder,
    /// All texts, one after the other: what may be quoted.
    source: String,
    faults: String,
}

impl Written {
    /// The orders of large numbers alone.
    fn of_large(house: House) -> Self {
        let mut written = Self {
            house,
            folder: Folder::new(&[]),
            source: String::new(),
            faults: String::new(),
        };
        written.write("gutta.toml", house.toml);
        written.write("large.gtt", &house.large());
        written
    }

    fn new(house: House) -> Self {
        let mut written = Self::of_large(house);
        for (path, text) in examples() {
            written.write(&format!("hospital/{path}"), &house.writes(&text));
        }
        for (rule, bad, _) in house.pages() {
            written.write(&format!("pages/{rule}/gutta.toml"), house.toml);
            written.write(&format!("pages/{rule}/tarnwick.gtt"), &house.reference());
            written.write(&format!("pages/{rule}/page.gtt"), &bad);
        }
        written
    }

    fn write(&mut self, path: &str, text: &str) {
        self.folder.write(path, text.as_bytes());
        self.source.push_str(text);
    }

    /// Notes what in it is not as the house writes.
    fn look(&mut self, what: &str, said: &str) {
        for line in said.lines() {
            if let Some(foreign) = self.house.foreign(line, &self.source) {
                let toml = self.house.toml.replace('\n', "; ");
                let _ = writeln!(self.faults, "{toml}{what}: `{foreign}` in: {line}");
            }
        }
    }

    /// The same of all that a command prints, which is something.
    fn run(&mut self, words: &[&str]) -> Ran {
        let ran = self.folder.run(words);
        assert!(ran.out.len() > 200, "{words:?}: {ran:?}");
        self.look(&words.join(" "), &ran.out);
        self.look(&words.join(" "), &ran.err);
        ran
    }

    #[track_caller]
    fn end(self) {
        assert!(self.faults.is_empty(), "{}", self.faults);
    }
}

/// The example hospital, without its settings.
fn examples() -> Vec<(String, String)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "gtt") {
                let name = path.strip_prefix(&root).unwrap().to_str().unwrap();
                found.push((name.to_owned(), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found
}

/// Every text of a document's value, with the key that holds it.
fn texts<'v>(value: &'v Value, key: &'v str, all: &mut Vec<(&'v str, &'v str)>) {
    match value {
        Value::String(text) => all.push((key, text)),
        Value::Array(values) => values.iter().for_each(|value| texts(value, key, all)),
        Value::Object(values) => values
            .iter()
            .for_each(|(key, value)| texts(value, key, all)),
        _ => {}
    }
}

/// For programs, the same in every house: fractions, decimals, units by their
/// table, codes, marks and addresses.
const FOR_PROGRAMS: [&str; 14] = [
    "exact",
    "exact_weight",
    "exact_surface",
    "decimal",
    "unit",
    "ratio",
    "threshold",
    "fingerprint",
    "cause",
    "code",
    "fullUrl",
    "url",
    "reference",
    "id",
];
