//! Everything that the command prints for people, in every way in which a house
//! may write: no number in other groups, no unit in another spelling, and each
//! correction reads in that house.

use std::fmt::Write;

use serde_json::Value;

use crate::styles::{HOUSES, House};
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

#[test]
fn findings_are_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let found = written.folder.run(&["check", "--format", "json", "."]);
        let document = found.json();
        let findings = document["findings"].as_array().unwrap();
        assert!(findings.len() > 500, "{}", findings.len());
        for finding in findings {
            let rule = finding["rule"].as_str().unwrap();
            let mut all = Vec::new();
            for part in ["message", "related", "notes", "fixes"] {
                texts(&finding[part], part, &mut all);
            }
            for (_, text) in all {
                written.look(rule, text);
            }
        }
        written.run(&["check", "--all", "."]);
        written.run(&["check", "--all", "--format", "sarif", "large.gtt"]);
        written.end();
    }
}

/// Each correction on offer is made, and what was not remarked before is not
/// remarked then.
#[test]
fn every_correction_reads_in_its_house() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let found = written.folder.run(&["check", "--format", "json", "."]);
        let document = found.json();
        let mut made = 0;
        for finding in document["findings"].as_array().unwrap() {
            for fix in finding["fixes"].as_array().unwrap() {
                let edits = fix["edits"].as_array().unwrap();
                let path = edits[0]["file"].as_str().unwrap().to_owned();
                let before = String::from_utf8(written.folder.read(&path)).unwrap();
                let after = corrected(&before, edits);
                // What is to be filled in is not read until it is.
                let open = edits
                    .iter()
                    .any(|edit| edit["text"].as_str().unwrap().contains('?'));
                if let Some(worse) = house.reads_worse(&before, &after).filter(|_| !open) {
                    let (rule, title) = (&finding["rule"], &fix["title"]);
                    let line = format!("{rule} {title} in {path}: {worse}\n");
                    written.faults.push_str(&line);
                }
                made += 1;
            }
        }
        assert!(made > 50, "{made}");
        written.end();
    }
}

/// The text with the edits made, the last first.
fn corrected(text: &str, edits: &[Value]) -> String {
    let offset = |place: &Value| {
        let [line, column] =
            ["line", "column"].map(|part| usize::try_from(place[part].as_u64().unwrap()).unwrap());
        let start: usize = text
            .split_inclusive('\n')
            .take(line - 1)
            .map(str::len)
            .sum();
        let rest = &text[start..];
        let column = rest.char_indices().nth(column - 1);
        start + column.map_or(rest.len(), |(at, _)| at)
    };
    let mut edits: Vec<_> = edits
        .iter()
        .map(|edit| {
            let (start, end) = (offset(&edit["start"]), offset(&edit["end"]));
            (start, end, edit["text"].as_str().unwrap())
        })
        .collect();
    edits.sort_unstable();
    let mut text = text.to_owned();
    for (start, end, new) in edits.into_iter().rev() {
        text.replace_range(start..end, new);
    }
    text
}

#[test]
fn what_follows_is_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let dose = house.writes("12,345 units/h");
        for words in [
            &["derive", "--working", "."][..],
            &["derive", "--dose", &dose, "large.gtt"],
            &["derive", "--format", "markdown", "."],
        ] {
            written.run(words);
        }
        for words in [
            &["derive", "--working", "--format", "json", "."][..],
            &["export", "--fhir", "r4", "."],
            &["export", "--fhir", "r5", "large.gtt"],
        ] {
            let document = written.folder.run(words).json();
            let mut all = Vec::new();
            texts(&document, "", &mut all);
            assert!(all.len() > 100, "{words:?}");
            // The standard's `unit` is for people, `gutta derive`'s is not.
            let exported = words[0] == "export";
            all.retain(|(key, _)| !FOR_PROGRAMS.contains(key) || exported && *key == "unit");
            for (key, text) in all {
                written.look(&format!("{} {key}", words.join(" ")), text);
            }
        }
        written.end();
    }
}

/// What programs read of what follows is the same whatever the house.
#[test]
fn programs_are_told_the_same_in_every_house() {
    let told = |house: House| {
        let written = Written::of_large(house);
        let document = written
            .folder
            .run(&["derive", "--format", "json", "large.gtt"]);
        let document = document.json();
        let mut all = Vec::new();
        texts(&document, "", &mut all);
        all.retain(|(key, _)| FOR_PROGRAMS.contains(key));
        let all = all.into_iter().map(|(key, text)| format!("{key} {text}"));
        all.collect::<Vec<_>>()
    };
    let [first, others @ ..] = HOUSES.map(told);
    assert!(
        first.iter().any(|line| line == "unit ng/kg/min"),
        "{first:?}"
    );
    assert!(first.iter().any(|line| line == "exact 20000"), "{first:?}");
    for other in others {
        assert_eq!(first, other);
    }
}

#[test]
fn a_setting_is_asked_for_as_the_house_writes() {
    for house in HOUSES {
        let written = Written::of_large(house);
        let others = HOUSES.map(|other| other.writes("12,345 units/h"));
        for asked in others {
            let ran = written
                .folder
                .run(&["derive", "--dose", &asked, "large.gtt"]);
            let known = asked == house.writes("12,345 units/h");
            assert_eq!(ran.code == Some(2), !known, "{asked}: {ran:?}");
        }
    }
}

#[test]
fn sheets_are_written_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let ran = written.folder.run(&["sheet", "--site", "site"]);
        assert!(ran.err.contains("wrote"), "{ran:?}");
        let mut pages = 0;
        let mut folders = vec![written.folder.path("site")];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|end| end == "html") {
                    let page = std::fs::read_to_string(&path).unwrap();
                    written.look(&path.display().to_string(), &without_tags(&page));
                    pages += 1;
                }
            }
        }
        assert!(pages > 40, "{pages}");
        written.end();
    }
}

/// What a reader of the page sees, an element a line.
fn without_tags(page: &str) -> String {
    let body = page.split_once("<body").map_or("", |(_, body)| body);
    let mut text = String::new();
    for part in body.split('<').skip(1) {
        text.push_str(part.split_once('>').map_or("", |(_, text)| text));
        text.push('\n');
    }
    text
}

/// Both states are told as the house writes now, however it wrote before.
#[test]
fn what_changed_is_told_as_the_house_writes_now() {
    for (place, house) in HOUSES.into_iter().enumerate() {
        let before = HOUSES[HOUSES.len() - 1 - place];
        let mut written = Written::of_large(house);
        let changed = house
            .large()
            .replace("50 mL with", "40 mL with")
            .replace("25 mL", "30 mL")
            .replace(&house.writes("40,000 "), &house.writes("39,000 "))
            .replace(&house.writes("20,000 "), &house.writes("18,000 "))
            .replace(&house.writes("5 ng/kg/min"), &house.writes("50 ng/kg/min"));
        written.write("old/gutta.toml", before.toml);
        // Titles are the authors', and not what is compared here.
        let (old, own) = (before.large(), house.large());
        let old = old.lines().zip(own.lines());
        let old: String = old
            .map(|(old, own)| if own.contains('"') { own } else { old })
            .map(|line| format!("{line}\n"))
            .collect();
        written.folder.write("old/large.gtt", old.as_bytes());
        written.write("new/gutta.toml", house.toml);
        written.write("new/large.gtt", &changed);
        for words in [
            &["compare", "old", "new"][..],
            &["compare", "--rows", "old", "new"],
            &["compare", "--format", "markdown", "--rows", "old", "new"],
        ] {
            written.run(words);
        }
        let document = written
            .folder
            .run(&["compare", "--format", "json", "old", "new"]);
        let document = document.json();
        let mut all = Vec::new();
        texts(&document, "", &mut all);
        all.retain(|(key, _)| !FOR_PROGRAMS.contains(key));
        for (key, text) in all {
            written.look(key, text);
        }
        written.end();
    }
}

#[test]
fn pages_are_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::of_large(house);
        written.source.clear();
        // What a page is about stands in it.
        let about = [
            "text.thousands",
            "text.decimal-comma",
            "text.risky-unit",
            "text.printed",
        ];
        written.run(&["rules"]);
        for (rule, ..) in house.pages() {
            if !about.contains(&rule) {
                written.run(&["explain", rule]);
            }
        }
        written.end();
    }
}

/// A house that spells `micrograms` has them spelt by the formatter; digits in
/// other groups than the house's have no value, and stay.
#[test]
fn the_formatter_writes_as_the_house_does() {
    let [usual, spelt, ..] = HOUSES;
    for (from, to) in [(usual, spelt), (spelt, usual)] {
        let mut written = Written::of_large(to);
        written.source.clear();
        written.folder.write("large.gtt", from.large().as_bytes());
        let ran = written.folder.run(&["fmt", "large.gtt"]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let text = String::from_utf8(written.folder.read("large.gtt")).unwrap();
        // Titles and comments are the author's.
        let lines = text.lines().filter(|line| !line.contains(['"', '#']));
        for line in lines {
            written.look("fmt", line);
        }
        written.end();
    }
}
