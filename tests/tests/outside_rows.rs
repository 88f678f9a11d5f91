//! The published rows of `outside/values`: each is tested where `rows.tsv`
//! says, at the figure printed and with its source beside it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use gutta_quantity::{Exact, Quantity, Unit};

fn values() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/values")
}

fn read(name: &str) -> String {
    let path = values().join(name);
    fs::read_to_string(&path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()))
}

/// The rows of a tab-separated file, each by its column's name.
fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let text = read(name);
    let mut lines = text.lines().map(|line| line.split('\t'));
    let Some(head) = lines.next() else {
        panic!("{name} is empty");
    };
    let head: Vec<&str> = head.collect();
    lines
        .map(|cells| {
            let cells: Vec<&str> = cells.collect();
            assert_eq!(cells.len(), head.len(), "{name}: {cells:?}");
            let pairs = head.iter().zip(cells);
            pairs
                .map(|(head, cell)| ((*head).to_owned(), cell.to_owned()))
                .collect()
        })
        .collect()
}

/// An `expect` line that tests a row, and the stanza it stands in.
struct Tested {
    id: String,
    file: String,
    line: String,
    stanza: String,
}

/// Every `expect` line that ends in the id of a row.
fn tested() -> Vec<Tested> {
    let mut found = Vec::new();
    let mut files: Vec<PathBuf> = fs::read_dir(values())
        .expect("the folder of values")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "gtt"))
        .collect();
    files.sort();
    for path in files {
        let file = path.file_name().expect("a name").to_string_lossy();
        for stanza in stanzas(&read(&file)) {
            for line in stanza.lines() {
                let Some((line, id)) = line.split_once("  # ") else {
                    continue;
                };
                if id
                    .bytes()
                    .all(|byte| !byte.is_ascii_lowercase() && byte != b' ')
                {
                    found.push(Tested {
                        id: id.to_owned(),
                        file: file.clone().into_owned(),
                        line: line.to_owned(),
                        stanza: stanza.clone(),
                    });
                }
            }
        }
    }
    found
}

fn stanzas(text: &str) -> Vec<String> {
    let mut stanzas: Vec<String> = Vec::new();
    for line in text.lines() {
        if line.starts_with(' ') {
            if let Some(stanza) = stanzas.last_mut() {
                stanza.push('\n');
                stanza.push_str(line);
            }
        } else if !line.is_empty() && !line.starts_with('#') {
            stanzas.push(line.to_owned());
        }
    }
    stanzas
}

/// The last number in a text, without its groups (`5,250 units`: `5250`).
fn last_number(text: &str) -> String {
    let plain = text.replace(',', "");
    let mut numbers = plain.split(|c: char| !c.is_ascii_digit() && c != '.');
    numbers
        .rfind(|word| word.starts_with(|c: char| c.is_ascii_digit()))
        .unwrap_or_default()
        .to_owned()
}

#[test]
fn every_row_is_tested_where_it_says() {
    let tested = tested();
    let mut places: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for Tested { id, file, .. } in &tested {
        places.entry(id).or_default().insert(file);
    }
    let data = ["cases.tsv", "conversions.tsv"].map(|name| (name, table(name)));
    for (name, rows) in &data {
        for row in rows {
            places.entry(&row["id"]).or_default().insert(name);
        }
    }
    let rows = table("rows.tsv");
    let readme = read("README.md");
    let mut left_out = 0;
    for row in &rows {
        let id = row["id"].as_str();
        let said: BTreeSet<&str> = row["where"].split(' ').collect();
        if said.contains("README.md") {
            left_out += 1;
            assert!(!places.contains_key(id), "{id} is tested after all");
            let kind = id.rsplit_once('-').map_or(id, |(kind, _)| kind);
            assert!(readme.contains(kind), "{id}: the README does not say why");
            continue;
        }
        let found = places.remove(id).unwrap_or_default();
        assert!(said.is_subset(&found), "{id}: {said:?}, found in {found:?}");
    }
    assert!(places.is_empty(), "no such rows: {places:?}");
    assert_eq!((rows.len(), left_out), (264, 38));
}

#[test]
fn every_row_is_tested_at_the_printed_figure_with_its_source() {
    let rows = table("rows.tsv");
    let rows: BTreeMap<&str, _> = rows.iter().map(|row| (row["id"].as_str(), row)).collect();
    let tested = tested();
    assert!(tested.len() > 200, "only {} rows", tested.len());
    for Tested {
        id, line, stanza, ..
    } in &tested
    {
        let row = rows[id.as_str()];
        // What is measured and its figure, before `at 70 kg`.
        let figure = line.split(" at ").next().unwrap_or_default();
        let printed = last_number(row["expected"].split(' ').next().unwrap_or_default());
        let printed = if id == "LBL-PHT-001" {
            "3".to_owned() // the upper end of `1 to 3`
        } else {
            printed
        };
        assert_eq!(
            last_number(&figure.replace("m2", "m")),
            printed,
            "{id}: {line}"
        );
        let source = format!("\"{}; origin: {}\"", row["source"], row["origin"]);
        assert!(stanza.contains(&source), "{id}: {source} is not beside it");
    }
}

#[test]
fn a_wrong_figure_stands_in_a_specimen_that_must_be_caught() {
    let rows = table("rows.tsv");
    let wrong: BTreeSet<&str> = rows
        .iter()
        .filter(|row| row["agrees"] == "NO")
        .map(|row| row["id"].as_str())
        .collect();
    for Tested { id, stanza, .. } in &tested() {
        let specimen = stanza.starts_with("specimen ");
        let caught = stanza.contains("finding expect.differs");
        assert_eq!(specimen, stanza.contains("expect     finding "), "{id}");
        if wrong.contains(id.as_str()) {
            assert!(specimen && caught, "{id} is not expected to be caught");
        } else if id != "LBL-ESM-004" {
            assert!(!caught, "{id} agrees, and is expected to be caught");
        }
    }
}

#[test]
fn units_convert_as_published() {
    for row in table("conversions.tsv") {
        let (value, unit) = row["from"].split_once(' ').expect("a quantity");
        let value = Exact::parse_decimal(value).expect("a number");
        let unit = Unit::parse(unit).expect("a unit");
        let to = Unit::parse(&row["to"]).expect("a unit");
        let converted = Quantity::new(value, unit).to(to).expect("one kind");
        assert_eq!(
            gutta_quantity::machine::fraction(&converted),
            row["expected"],
            "{}",
            row["id"]
        );
    }
}
