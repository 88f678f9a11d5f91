//! `gutta sheet`.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use crate::support::{Folder, REFERENCE, RIGHT};

const TODAY: [&str; 2] = ["--today", "2026-11-25"];

fn sheet(folder: &Folder, words: &[&str]) -> crate::support::Ran {
    folder.run(&[&["sheet"], words, &TODAY[..]].concat())
}

#[test]
fn a_sheet_says_how_to_prepare_run_and_watch() {
    let order = RIGHT.replace(
        "  then       renew",
        "  adjust     0.02 to 0.1 mcg/kg/min by 0.02 mcg/kg/min every 5 min\n  prime      2 mL\n  \
         then       renew\n  goal       \"mean arterial pressure 65 mmHg or more\"",
    );
    let folder = Folder::with_order(&order);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    // What stands on it, a line for each element, without the styles.
    let body = ran.out.split("</style>").nth(1).unwrap();
    let lines = body.replace("><", ">\n<");
    insta::assert_snapshot!("a_sheet", lines);
}

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
    let mut values = phases
        .iter()
        .flat_map(|phase| phase["values"].as_array().unwrap());
    values.any(|value| {
        let read = |text: &str| gutta_notation::read_quantity(text);
        let Some(shown) = read(&cell.text) else {
            return false;
        };
        let exact = value["exact"].as_str().unwrap();
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

#[test]
fn markup_in_names_and_texts_stays_text() {
    let wild = "<script>alert(1)</script>&\\u0022'><img src=x onerror=y>";
    let order = RIGHT
        .replace("Noradrenaline, single strength", wild)
        .replace(
            "  review by",
            &format!("  note       \"{wild}</style>\"\n  review by"),
        );
    let reference = REFERENCE
        .replace("Noradrenaline (as base)", wild)
        .replace("Glucose 5 %", "</title><svg onload=y>")
        .replace("Syringe pump", wild);
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", &reference),
        ("<b>&amp;.gtt", &order),
    ]);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    for raw in [
        "<script",
        "<img",
        "<svg onload",
        "<b>",
        "</title><svg",
        "onerror=y>",
    ] {
        assert!(!ran.out.contains(raw), "{raw}");
    }
    assert_eq!(ran.out.matches("<style>").count(), 1);
    assert_eq!(ran.out.matches("</style>").count(), 1);
    assert!(
        ran.out
            .contains("&lt;script&gt;alert(1)&lt;/script&gt;&amp;"),
        "{}",
        ran.out
    );
    // Nothing is fetched, and nothing could be.
    assert!(ran.out.contains("default-src 'none'"));
    for link in [" src=", " href=", "url(h", "@import", "http://", "https://"] {
        let here = ran.out.replace(" src=x", "");
        assert!(!here.contains(link), "{link}");
    }
}

#[test]
fn an_order_with_an_error_has_no_sheet() {
    let cases = [
        (
            RIGHT.replace("run        all", "run        al"),
            "error[text.unreadable]",
        ),
        (RIGHT.replace("0.06 mcg", "3 mcg"), "error[limit.never]"),
        (
            RIGHT.replace("drug       noradrenaline", "drug       adrenalin"),
            "error[name.unknown]",
        ),
    ];
    for (order, why) in cases {
        let folder = Folder::with_order(&order);
        let ran = sheet(
            &folder,
            &["noradrenaline-central", "--output", "sheet.html"],
        );
        assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{ran:?}");
        assert!(
            ran.err
                .starts_with("gutta: there is no sheet of noradrenaline-central:\n")
        );
        assert!(ran.err.contains(why), "{}", ran.err);
        assert!(ran.err.contains("order.gtt:"), "{}", ran.err);
        assert!(!folder.path("sheet.html").exists());
    }
    // A fault elsewhere that the order leans on.
    let reference = REFERENCE.replace("never dose       above 2", "never dose       abov 2");
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", &reference),
        ("order.gtt", RIGHT),
    ]);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    assert!(
        ran.err.contains("reference.gtt:17: error[text."),
        "{}",
        ran.err
    );
}

#[test]
fn a_sheet_past_its_review_is_a_draft() {
    let folder = Folder::with_order(RIGHT);
    let on = |day: &str| {
        folder
            .run(&["sheet", "noradrenaline-central", "--today", day])
            .out
    };
    assert!(!on("2027-11-01").contains("Draft: not for use"));
    let past = on("2027-11-02");
    assert!(
        past.contains("Draft: not for use. Its review was due by 2027-11-01."),
        "{past}"
    );
    assert!(past.contains("<article class=\"draft\""));
    let without = Folder::with_order(&RIGHT.replace("  review by  2027-11-01\n", ""));
    let ran = sheet(&without, &["noradrenaline-central"]);
    assert!(
        ran.out
            .contains("It states no day by which it is to be reviewed.")
    );
}

#[test]
fn a_print_can_be_matched_with_its_files() {
    let folder = Folder::with_order(RIGHT);
    let page = sheet(&folder, &["noradrenaline-central"]).out;
    // `sha256sum` of GNU coreutils, which follows FIPS 180-4.
    let sums = Command::new("sha256sum")
        .current_dir(folder.path("."))
        .args(["gutta.toml", "order.gtt", "reference.gtt"])
        .output()
        .unwrap();
    let sums = String::from_utf8(sums.stdout).unwrap();
    for line in sums.lines() {
        let (digest, path) = line.split_once("  ").unwrap();
        let shown = format!("<code>{digest}</code> {path}");
        assert!(page.contains(&shown), "{shown}");
    }
    folder.write("sums", sums.as_bytes());
    let all = Command::new("sha256sum")
        .arg(folder.path("sums"))
        .output()
        .unwrap();
    let all = String::from_utf8(all.stdout).unwrap();
    let digest = all.split(' ').next().unwrap();
    assert!(
        page.contains(&format!("<code>{digest}</code>:")),
        "{digest}"
    );
    assert!(
        page.contains(&format!("sheet {}", &digest[..16])),
        "{digest}"
    );
    // Another drug, another digest.
    folder.write(
        "reference.gtt",
        REFERENCE.replace("above 2", "above 3").as_bytes(),
    );
    assert!(
        !sheet(&folder, &["noradrenaline-central"])
            .out
            .contains(digest)
    );
}

#[test]
fn a_set_has_a_sheet_an_order_or_none() {
    let set =
        "\nset both \"Both\"\n  area       adult-icu\n  include    noradrenaline-central, other\n";
    let other = "\norder other \"Carrier\"\n  area       adult-icu\n  route      central vein\n  \
                 pump       syringe\n  hang       500 mL of glucose-5\n  run        all at 20 mL/h\n  \
                 then       stop\n";
    let folder = Folder::with_order(&format!("{RIGHT}{other}{set}"));
    let ran = sheet(&folder, &["both"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_eq!(ran.out.matches("<article").count(), 2);
    assert!(ran.out.contains("<h1>Both</h1>"), "{}", ran.out);
    let broken = other.replace("run        all", "run        al");
    let folder = Folder::with_order(&format!("{RIGHT}{broken}{set}"));
    let ran = sheet(&folder, &["both"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    assert!(ran.err.contains("error[text.unreadable]"), "{}", ran.err);
}

#[test]
fn what_cannot_be_asked_is_said() {
    let folder = Folder::with_order(RIGHT);
    sheet(&folder, &["noradrenaline-centrl"]).refused(
        "there is no order or set `noradrenaline-centrl` here; did you mean noradrenaline-central?",
    );
    let twice = Folder::new(&[
        ("a.gtt", RIGHT),
        ("b.gtt", RIGHT),
        ("reference.gtt", REFERENCE),
    ]);
    sheet(&twice, &["noradrenaline-central"]).refused(
        "more than one order or set is called `noradrenaline-central`: name one of a.gtt, b.gtt",
    );
    assert_eq!(
        sheet(&twice, &["noradrenaline-central", "b.gtt"]).code,
        Some(0)
    );
    sheet(
        &folder,
        &["noradrenaline-central", "--output", "no/where.html"],
    )
    .refused("cannot write no/where.html: there is no such file or folder");
    let ran = sheet(&folder, &["noradrenaline-central", "--output", "here.html"]);
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.err.as_str()),
        (Some(0), "", "")
    );
    assert!(folder.read("here.html").starts_with(b"<!DOCTYPE html>"));
}
