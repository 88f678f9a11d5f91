//! Orders read from a text, and their values asked for as `expect` would.

use gutta_notation::StanzaKind;
use gutta_notation::ast::Fact;
use gutta_protocol::derive::{Patient, derive};
use gutta_protocol::measures::{Measures, Question, ValueOf};
use gutta_protocol::model::{self, Library};
use gutta_protocol::working::worked;
use gutta_protocol::{House, StanzaId, Workspace};
use gutta_quantity::{Quantity, Style};

/// A reference to try orders on: round numbers, no limits.
pub(crate) const REFERENCE: &str = r#"
pump volumetric "Pump"
  flow       0.5 to 99.9 mL/h in steps of 0.1 mL/h
  flow       100 to 900 mL/h in steps of 1 mL/h
  volume     up to 5,000 mL
  bolus      up to 900 mL/h

giving-set macro "Gravity giving set"
  drops      20 per mL

solution saline "Sodium chloride 0.9 %"
  contains   sodium 0.154 mmol/mL
  osmolarity 308 mOsm/L

solution glucose-5 "Glucose 5 %"
  contains   glucose 50 mg/mL
  osmolarity 278 mOsm/L

drug testamine "A drug without limits"
  supplied   40 mg in 4 mL
  with       saline, glucose-5

drug potassium-chloride "Potassium chloride"
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  with       saline, glucose-5
"#;

/// A workspace of the reference and one more stretch of text.
pub(crate) fn workspace(text: &str) -> Workspace {
    let all = format!("{REFERENCE}\n{text}");
    Workspace::new(vec![("test.gtt".to_owned(), all)], House::default())
}

/// The last order or specimen of a workspace.
pub(crate) fn last_order(workspace: &Workspace) -> StanzaId {
    let orders = workspace
        .stanzas_of(StanzaKind::Order)
        .chain(workspace.stanzas_of(StanzaKind::Specimen));
    orders.last().expect("an order")
}

/// Asserts the values of an order. Each line is what an `expect` line says
/// after its keyword, and the exact value: `flow mL/h at 70 kg = 63/20`. A
/// value that there is not is `none`; one without end is `endless`.
pub(crate) fn assert_values(order: &str, lines: &str) {
    let workspace = workspace(order);
    let library = Library::new(&workspace);
    let id = last_order(&workspace);
    for line in lines.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (asked, value) = line.split_once('=').expect("an equals sign");
        assert_eq!(
            answer(&workspace, &library, id, asked.trim()),
            value.trim(),
            "{asked}"
        );
    }
}

fn answer(workspace: &Workspace, library: &Library, id: StanzaId, asked: &str) -> String {
    // The question is read by the tool's own reader, as a worked example.
    let words: Vec<&str> = asked.split_whitespace().collect();
    // The first word is the measure's, even where it could be a unit.
    let unit = words.iter().skip(1).position(|word| is_unit(word));
    let at = unit.expect("a unit") + 1;
    let line = format!("{} 1 {}", words[..at].join(" "), words[at..].join(" "));
    let probe = format!("order probe \"Probe\"\n  expect     {line}\n");
    let file = gutta_notation::read(&probe, workspace.house.style);
    let stanza = file.stanzas.last().expect("a stanza").stanza.clone();
    let expect = stanza
        .lines
        .iter()
        .find_map(|line| match &line.fact {
            Fact::Expect(expect) => Some(expect.clone()),
            _ => None,
        })
        .unwrap_or_else(|| panic!("not an expect: {line}: {:?}", stanza.marks));
    let mut patient = Patient::default();
    let mut dose = None;
    for at in &expect.at {
        let quantity = at.quantity().expect("a quantity");
        if let Some(weight) = quantity.as_weight() {
            patient.weight = Some(weight);
        } else if quantity.dimension() == gutta_quantity::Dimension::SURFACE {
            patient.surface = Some(quantity.base());
        } else {
            dose = gutta_protocol::model::size::Size::read(at);
        }
    }
    let order = model::order(workspace, library, id);
    let values = match derive(&order, &patient) {
        Ok(values) => values,
        Err(incomplete) => return format!("{:?}", incomplete.problems),
    };
    let unit = expect.value.unit.known().expect("a unit");
    let view = &values.views[0];
    let question = Question {
        measure: &expect.measure.value,
        per_day: expect.per_day,
        dose: dose.as_ref(),
        unit: Some(unit),
    };
    let mut answers = Measures {
        order: &order,
        view,
    }
    .answer(&question);
    if let Some(phase) = &expect.phase {
        let index = order
            .phases
            .iter()
            .position(|other| other.name.as_ref() == Some(&phase.value));
        answers.retain(|value| value.phase == index);
    }
    let mut told: Vec<String> = answers
        .iter()
        .map(|value| match &value.value {
            ValueOf::WithoutEnd => "endless".to_owned(),
            _ => value.at(view.patients.interval.lo()).map_or_else(
                || "none".to_owned(),
                |base| gutta_quantity::machine::fraction(&Quantity::from_base(base, unit).value),
            ),
        })
        .collect();
    told.dedup();
    if told.is_empty() {
        "none".to_owned()
    } else {
        told.join(", ")
    }
}

/// The steps to each value of a name, for a patient at a setting: `70 kg`, or
/// `70 kg at 0.1 mcg/kg/min`; a value a line, its steps parted by semicolons.
pub(crate) fn steps(order: &str, at: &str, name: &str) -> String {
    let workspace = workspace(order);
    let library = Library::new(&workspace);
    let probe = format!("order probe\n  expect flow 1 mL/h at {at}\n");
    let file = gutta_notation::read(&probe, workspace.house.style);
    let Fact::Expect(expect) = &file.stanzas[0].stanza.lines[0].fact else {
        panic!("not a patient and a setting: {at}");
    };
    let mut patient = Patient::default();
    let mut dose = None;
    for at in &expect.at {
        match at.quantity().expect("a quantity").as_weight() {
            Some(weight) => patient.weight = Some(weight),
            None => dose = gutta_protocol::model::size::Size::read(at),
        }
    }
    let order = model::order(&workspace, &library, last_order(&workspace));
    let worked =
        worked(&order, &patient, dose.as_ref(), None, Style::USUAL).expect("a complete order");
    let named = worked
        .iter()
        .filter(|worked| worked.value.measure.name() == name);
    let told: Vec<_> = named.map(|worked| worked.steps.join("; ")).collect();
    told.join("\n")
}

/// Asserts the steps to the values of an order for a patient at a setting.
/// Each line is a name, a colon and the steps.
pub(crate) fn assert_steps(order: &str, at: &str, lines: &str) {
    for line in lines.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (name, wanted) = line.split_once(": ").expect("a colon");
        assert_eq!(steps(order, at, name), wanted, "{name} at {at}");
    }
}

fn is_unit(word: &str) -> bool {
    gutta_quantity::Unit::parse(word).is_some()
}
