//! Every value on every sheet of the examples, beside what `gutta derive` says.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

/// One value of a sheet: what it is, for whom, and what stands there.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Cell {
    phase: String,
    measure: String,
    dose: String,
    at: String,
    with: String,
    text: String,
}

/// The values of a page, found by their attributes.
fn cells(page: &str) -> Vec<Cell> {
    let mut all = Vec::new();
    for part in page.split("data-measure=\"").skip(1) {
        let (measure, rest) = part.split_once('"').unwrap();
        let (tag, rest) = rest.split_once('>').unwrap();
        let text = rest.split('<').next().unwrap();
        let attribute = |name: &str| {
            let marked = format!(" data-{name}=\"");
            let value = tag.split(&marked).nth(1);
            value
                .map_or("", |value| value.split('"').next().unwrap())
                .to_owned()
        };
        let unit = attribute("unit");
        let text = match (unit.as_str(), text) {
            ("", _) | (_, "\u{2014}") => text.to_owned(),
            (unit, number) => format!("{number} {unit}"),
        };
        all.push(Cell {
            phase: attribute("phase"),
            measure: measure.to_owned(),
            dose: attribute("dose"),
            at: attribute("at"),
            with: attribute("with"),
            text,
        });
    }
    all
}

/// The examples' own folder; a command in it.
fn in_examples(words: &[String]) -> (Option<i32>, String) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let output = Command::new(env!("CARGO_BIN_EXE_gutta"))
        .current_dir(folder)
        .args(words)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
    )
}

fn words(all: &[&str]) -> Vec<String> {
    all.iter().map(|word| (*word).to_owned()).collect()
}

/// What `gutta derive` says, as it prints it in its tables: phase, measure with
/// its setting, patient, value.
fn derived(name: &str, cells: &[Cell]) -> BTreeSet<(String, String, String, String)> {
    let ending = |unit: &str| -> BTreeSet<&str> {
        let all = cells
            .iter()
            .flat_map(|cell| [cell.at.as_str(), cell.with.as_str()]);
        all.filter(|at| at.ends_with(unit)).collect()
    };
    let mut ask = words(&["derive", "--format", "markdown", "--order", name]);
    let options = [("--weight", ending(" kg")), ("--surface", ending(" m2"))];
    for (option, values) in options {
        for value in values {
            ask.extend([option.to_owned(), value.to_owned()]);
        }
    }
    let mut all = tables(name, &ask);
    let doses: BTreeSet<_> = cells.iter().map(|cell| cell.dose.as_str()).collect();
    for dose in doses.into_iter().filter(|dose| !dose.is_empty()) {
        ask.extend(["--dose".to_owned(), dose.to_owned()]);
    }
    if ask.contains(&"--dose".to_owned()) {
        all.extend(tables(name, &ask));
    }
    all
}

fn tables(name: &str, ask: &[String]) -> BTreeSet<(String, String, String, String)> {
    let (code, out) = in_examples(ask);
    assert_eq!(code, Some(0), "{name}: {out}");
    let mut all = BTreeSet::new();
    let (mut phase, mut heads) = (String::new(), Vec::new());
    for line in out.lines() {
        let plain = line.replace('\\', "");
        if let Some(name) = plain.strip_prefix("### ") {
            phase = if name == "the whole order" {
                String::new()
            } else {
                name.to_owned()
            };
        }
        let Some(row) = plain.strip_prefix("| ") else {
            continue;
        };
        let row: Vec<_> = row
            .trim_end_matches(" |")
            .split(" | ")
            .map(ToOwned::to_owned)
            .collect();
        match row[0].as_str() {
            "measure" => heads = row,
            "---" => {}
            measure => {
                for (head, value) in heads.iter().zip(&row).skip(1) {
                    // A sheet has its runs in their order, unnumbered.
                    let measure = measure.split(", ").next().unwrap_or(measure);
                    let place = (
                        phase.clone(),
                        measure.to_owned(),
                        head.clone(),
                        value.clone(),
                    );
                    all.insert(place);
                }
            }
        }
    }
    all
}

/// Whether a value is the exact one, rounded at the last digit written: on a
/// sheet all patients' strengths and totals are told in one unit, and for one
/// patient alone in the unit that reads best.
fn is_rounded(name: &str, cell: &Cell) -> bool {
    let option = if cell.at.ends_with(" kg") {
        "--weight"
    } else {
        "--surface"
    };
    let ask = words(&[
        "derive", "--format", "json", "--order", name, option, &cell.at,
    ]);
    let document: serde_json::Value = serde_json::from_str(&in_examples(&ask).1).unwrap();
    let phases = document["orders"][0]["phases"].as_array().unwrap();
    let values = phases
        .iter()
        .flat_map(|phase| phase["values"].as_array().unwrap());
    let mut numbers = values.flat_map(|value| {
        let numbers = value["numbers"].as_array().unwrap();
        numbers.iter().map(move |number| (value, number))
    });
    numbers.any(|(value, number)| {
        let read = |text: &str| gutta_notation::read_quantity(text, gutta_notation::Style::USUAL);
        let Some(shown) = read(&cell.text) else {
            return false;
        };
        let exact = number["exact"].as_str().unwrap();
        let (num, den) = exact.split_once('/').unwrap_or((exact, "1"));
        let (num, den) = (num.parse().unwrap(), den.parse().unwrap());
        let unit = read(&format!("1 {}", value["unit"].as_str().unwrap()));
        let (Some(shown), Some(unit)) = (shown.quantity(), unit.and_then(|one| one.quantity()))
        else {
            return false;
        };
        let exact = gutta_quantity::Quantity::new(
            gutta_quantity::Exact::ratio(num, den).unwrap(),
            unit.unit,
        );
        let decimals = cell
            .text
            .split(' ')
            .next()
            .unwrap()
            .split('.')
            .nth(1)
            .map_or(0, str::len);
        let step = gutta_quantity::Exact::ten_to(-i32::try_from(decimals).unwrap());
        let rounded = exact
            .to(shown.unit)
            .map(|exact| exact.round_to(&step, gutta_quantity::Rounding::HalfUp));
        cell.dose.is_empty() && value["measure"] == cell.measure && rounded == Some(shown.value)
    })
}

/// Every order of the examples, by name.
fn orders() -> Vec<String> {
    let (_, out) = in_examples(&words(&["derive", "--format", "json"]));
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let orders = document["orders"].as_array().unwrap().iter();
    orders
        .map(|order| order["name"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_value_on_every_sheet_is_what_derive_gives() {
    let (mut seen, names) = (0, orders());
    assert!(names.len() > 100, "{}", names.len());
    for name in &names {
        let ask = words(&["sheet", name, "--today", "2026-11-25"]);
        let (code, page) = in_examples(&ask);
        assert_eq!(code, Some(0), "{name}");
        let cells = cells(&page);
        assert!(!cells.is_empty(), "{name}");
        let derived = derived(name, &cells);
        let one_phase = !derived.iter().any(|(phase, ..)| !phase.is_empty());
        for cell in &cells {
            let mut measure = cell.measure.clone();
            if !cell.dose.is_empty() {
                measure = format!("{measure} at {}", cell.dose);
            }
            let is_it = |(phase, own, at, value): &(String, String, String, String)| {
                let patient = || {
                    let parts: BTreeSet<_> = at.split(", ").collect();
                    (cell.at.is_empty() || parts.contains(cell.at.as_str()))
                        && (cell.with.is_empty() || parts.contains(cell.with.as_str()))
                };
                (one_phase || *phase == cell.phase)
                    && *own == measure
                    && *value == cell.text
                    && patient()
            };
            assert!(
                derived.iter().any(is_it) || is_rounded(name, cell),
                "{name}: {cell:?} in {derived:#?}"
            );
            seen += 1;
        }
    }
    assert!(seen > 5_000, "{seen}");
}
