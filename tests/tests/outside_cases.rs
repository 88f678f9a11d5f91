//! The published rows that no `expect` line measures (`cases.tsv`), and every
//! `expect` line of `outside/values`, asked of what the tool derives.

use std::fs;
use std::path::{Path, PathBuf};

use gutta_notation::StanzaKind;
use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::derive::{Patient, View, derive};
use gutta_protocol::measures::{Measures, Question, Value};
use gutta_protocol::model::Library;
use gutta_protocol::model::order::{Expectation, Order};
use gutta_protocol::{Analysis, House, Workspace};
use gutta_quantity::{Exact, Quantity, Rounding, Unit};

fn values() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/values")
}

fn workspace() -> Workspace {
    let entries = fs::read_dir(values()).expect("the folder of values");
    let files = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "gtt"))
        .map(|path| {
            let name = path.file_name().expect("a name").to_string_lossy();
            (
                name.into_owned(),
                fs::read_to_string(&path).expect("a text"),
            )
        })
        .collect();
    Workspace::new(files, House::default())
}

/// Every order or specimen, by its name, with what follows from it.
fn analyses(workspace: &Workspace, kind: StanzaKind) -> Vec<(String, Analysis)> {
    let library = Library::new(workspace);
    let stanzas = workspace.stanzas_of(kind);
    stanzas
        .map(|id| {
            let name = workspace.stanza(id).name.as_ref().expect("a name");
            let name = name.value.to_string();
            (name, Analysis::of(workspace, &library, id))
        })
        .collect()
}

fn ask(order: &Order, view: &View, measure: &ExpectMeasure, unit: &str) -> Vec<Value> {
    let question = Question {
        measure,
        per_day: false,
        dose: None,
        unit: Some(Unit::parse(unit).expect("a unit")),
    };
    Measures { order, view }.answer(&question)
}

/// The time of each run of the order, in base units.
fn times(order: &Order, view: &View) -> Vec<Exact> {
    let times = ask(order, view, &ExpectMeasure::Time, "h");
    let ends = times.iter().map(|time| {
        let curve = time.curve().expect("a time that ends");
        let (least, most) = (curve.min_value(), curve.max_value());
        let (least, most) = (least.expect("a value").value, most.expect("a value").value);
        assert_eq!(least, most, "a time that depends on the patient");
        least
    });
    ends.collect()
}

/// The weights inside the order's range at which the dose turns.
fn turns(order: &Order, view: &View) -> Vec<Exact> {
    let dose = ask(order, view, &ExpectMeasure::Dose, "mg/min");
    let breaks = dose[0].curve().expect("an exact dose").breaks();
    breaks[1..breaks.len() - 1].to_vec()
}

#[test]
fn what_no_expect_line_measures_is_as_published() {
    let workspace = workspace();
    let orders = analyses(&workspace, StanzaKind::Order);
    let cases = fs::read_to_string(values().join("cases.tsv")).expect("the cases");
    let mut tested = 0;
    for case in cases.lines().skip(1) {
        let cells: Vec<&str> = case.split('\t').collect();
        let [id, _, name, what, printed, exact, _] = cells[..] else {
            panic!("{case}");
        };
        let (_, analysis) = orders
            .iter()
            .find(|(other, _)| other == name)
            .unwrap_or_else(|| panic!("{id}: no order {name}"));
        let order = &analysis.order;
        let derived = analysis.values.as_ref().expect("a complete order");
        let view = &derived.views[0];
        let hour = Unit::parse("h").expect("a unit").factor();
        let found = match what {
            "lid begins" => turns(order, view),
            "bags a day" => {
                let last = order.phases.len() - 1;
                let bags = view.succession(order, last, None).expect("a renewed bag");
                let bags = bags.per_day.is_constant().expect("one for all").clone();
                vec![bags]
            }
            "time of all phases" => {
                let all = times(order, view).into_iter();
                let all = all.fold(Exact::ZERO, |sum, time| sum + time);
                vec![all.checked_div(&hour).expect("an hour")]
            }
            _ => panic!("{id}: {what}"),
        };
        let [found] = &found[..] else {
            panic!("{id}: {found:?}");
        };
        assert_eq!(gutta_quantity::machine::fraction(found), exact, "{id}");
        let (number, _) = printed.split_once(' ').expect("a quantity");
        let decimals = number.split_once('.').map_or(0, |(_, digits)| digits.len());
        let digit = Exact::ten_to(-i32::try_from(decimals).expect("few digits"));
        let rounded = found.round_to(&digit, Rounding::HalfUp);
        assert_eq!(Some(rounded), Exact::parse_decimal(number), "{id}");
        tested += 1;
    }
    assert_eq!(tested, 5);
}

/// Whether the line holds in each view that it speaks of.
fn holds(order: &Order, line: &Expectation) -> bool {
    let patient = Patient {
        weight: line.weight.clone(),
        surface: line.surface.clone(),
    };
    let derived = derive(order, &patient).expect("a complete order");
    let answers = derived.views.iter().flat_map(|view| {
        let question = Question {
            measure: &line.measure.value,
            per_day: line.per_day,
            dose: line.dose.as_ref(),
            unit: Some(line.value.unit),
        };
        Measures { order, view }.answer(&question)
    });
    let answers: Vec<Value> = answers.collect();
    assert!(!answers.is_empty(), "nothing answers {:?}", line.measure);
    answers.iter().all(|answer| {
        let curve = answer.curve().expect("an exact value");
        let ends = [curve.min_value(), curve.max_value()];
        ends.into_iter().all(|end| {
            let end = end.expect("a value").value;
            let found = Quantity::from_base(end, line.value.unit).value;
            let digit = Exact::ten_to(-i32::from(line.decimals));
            found.round_to(&digit, Rounding::HalfUp) == line.value.value
        })
    })
}

#[test]
fn every_published_figure_is_what_the_tool_derives() {
    let workspace = workspace();
    let mut lines = 0;
    for (name, analysis) in analyses(&workspace, StanzaKind::Order) {
        for line in &analysis.order.expects {
            assert!(holds(&analysis.order, line), "{name}: {:?}", line.value);
            lines += 1;
        }
    }
    assert_eq!(lines, 240);
}

#[test]
fn every_figure_printed_wrong_is_told_from_what_the_tool_derives() {
    let workspace = workspace();
    let (mut right, mut wrong) = (0, 0);
    for (_, analysis) in analyses(&workspace, StanzaKind::Specimen) {
        for line in &analysis.order.expects {
            *(if holds(&analysis.order, line) {
                &mut right
            } else {
                &mut wrong
            }) += 1;
        }
    }
    // Those that hold are two ratio strengths and four doses for each pound:
    // slips of writing, not of number.
    assert_eq!((right, wrong), (6, 18));
}

/// Right orders are left in peace, and the specimens' findings are the ones
/// they expect: what was printed wrong is caught.
#[test]
fn nothing_above_information_is_found() {
    let workspace = workspace();
    let found = gutta_checks::check(&workspace, None, &gutta_checks::Options::default());
    let told: Vec<String> = found
        .iter()
        .filter(|finding| finding.severity > gutta_checks::Severity::Information)
        .map(|finding| {
            let file = &workspace.file(finding.place.file).path;
            let at = workspace.text_at(finding.place);
            format!("{file}: {}: {at:?}: {}", finding.rule.name, finding.message)
        })
        .collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
}
