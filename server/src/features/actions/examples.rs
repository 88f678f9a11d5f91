//! Worked examples, with the values that follow now.

use gutta_checks::Fix;
use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, StanzaKind};
use gutta_protocol::Analysis;
use gutta_protocol::derive::Variable;
use gutta_protocol::measures::{Measures, Question, Value, ValueOf, measure_name};
use gutta_protocol::model::order::{Order, RunSpec, WaySpec};
use gutta_quantity::{Exact, Printed, Quantity, Rounding, Style, Unit, units};

use super::{Action, ActionKind, ActionPlace, last_line, line};
use crate::state::parse_weight;

/// So many decimals are written at most.
const MOST_DECIMALS: u32 = 9;

/// An example of the line's value at each end of the order's weights, and at
/// the weight that the user has chosen; in the header of the first flow.
pub(super) fn examples(at: &ActionPlace<'_>) -> Vec<Action> {
    if !matches!(at.kind(), StanzaKind::Order | StanzaKind::Specimen) {
        return Vec::new();
    }
    let site = at.site;
    let analysis = Analysis::of(site.workspace, site.library(), at.id);
    let order = &analysis.order;
    let views = analysis.values.as_ref().map(|values| &*values.views);
    // With weight and surface both open, one of them does not tell a patient.
    let Ok([view]) = views else {
        return Vec::new();
    };
    let measures = Measures { order, view };
    let Some(value) = measure(at, order).and_then(|measure| value(at, &measures, &measure)) else {
        return Vec::new();
    };
    let patients = &view.patients.interval;
    let mut places = vec![patients.lo().clone()];
    if !value.is_constant() {
        let chosen = site.settings.hints.weight.as_deref().and_then(parse_weight);
        let of_weight = view.patients.variable == Variable::Weight;
        places.extend(chosen.filter(|x| of_weight && patients.contains(x)));
        places.push(patients.hi().clone());
    }
    places.dedup();
    let axis = match view.patients.variable {
        Variable::Weight => Some(units::KG),
        Variable::Surface => Some(units::M2),
        Variable::Nothing => None,
    };
    let axis = axis.filter(|_| !value.is_constant());
    let written = places
        .iter()
        .filter_map(|x| example(order, &value, (x, axis), site.workspace.house.style));
    let written: Vec<_> = written.filter(|text| !stands(at, text)).collect();
    written
        .into_iter()
        .map(|text| {
            let new = line("expect", &text);
            let fix = Fix::insert_below(site.workspace, at.id, last_line(at), &new);
            let title = format!("Insert the worked example `expect {text}`");
            Action::new(ActionKind::Insert, title, fix.edits)
        })
        .collect()
}

/// The measure that the line is best pinned by.
fn measure(at: &ActionPlace<'_>, order: &Order) -> Option<ExpectMeasure> {
    let Some(line) = at.line else {
        return Some(ExpectMeasure::Flow);
    };
    match &line.fact {
        Fact::Bag(_) if order.drug.is_some() => Some(ExpectMeasure::Strength),
        Fact::Bolus(_) => Some(ExpectMeasure::Bolus),
        Fact::Run(_) => {
            let mut runs = order.phases.iter().flat_map(|phase| &phase.runs);
            let run = runs.find(|run| run.span == line.span)?;
            let by_flow = order.drug.is_some() && states_flow(run);
            Some(if by_flow {
                ExpectMeasure::Dose
            } else {
                ExpectMeasure::Flow
            })
        }
        Fact::Drug(_) | Fact::Patient { .. } | Fact::Pump(_) | Fact::Then(_) => {
            Some(ExpectMeasure::Flow)
        }
        _ => None,
    }
}

fn states_flow(run: &RunSpec) -> bool {
    run.ways.iter().any(|way| match way {
        WaySpec::At(rate) => rate.form.drug().is_none(),
        WaySpec::Over(_) => false,
    })
}

/// The value of the line at the cursor, else the only one. An example cannot
/// tell two of one phase apart.
fn value(at: &ActionPlace<'_>, measures: &Measures<'_>, measure: &ExpectMeasure) -> Option<Value> {
    let values = measures.answer(&Question {
        measure,
        per_day: false,
        dose: None,
        unit: None,
    });
    let own = at
        .line
        .and_then(|line| values.iter().find(|value| value.span == line.span));
    let value = own.or_else(|| values.first())?;
    let of_phase = values.iter().filter(|other| other.phase == value.phase);
    (of_phase.count() == 1).then(|| value.clone())
}

/// `flow 3.15 mL/h at 70 kg in first`.
fn example(
    order: &Order,
    value: &Value,
    (x, axis): (&Exact, Option<Unit>),
    style: Style,
) -> Option<String> {
    let number = Quantity::from_base(value.at(x)?, value.unit);
    let whole = matches!(value.value, ValueOf::Whole(_));
    let decimals = if whole { 0 } else { decimals(&number.value)? };
    let gutta_protocol::measures::Measure::Expect(measure) = &value.measure else {
        return None;
    };
    let written = style.quantity_fixed(&number, decimals, Rounding::HalfUp);
    let mut text = format!("{} {written}", measure_name(measure));
    if let Some(axis) = axis {
        text.push_str(&format!(" at {}", patient(x, axis, style)?));
    }
    let phase = value.phase.and_then(|phase| order.phases.get(phase));
    if let Some(phase) = phase.and_then(|phase| phase.name.as_ref()) {
        text.push_str(&format!(" in {phase}"));
    }
    Some(text)
}

/// Enough decimals to write the value exactly, or to within a two-hundredth.
fn decimals(value: &Exact) -> Option<u32> {
    if !value.is_positive() {
        return None;
    }
    (0..=MOST_DECIMALS).find(|decimals| {
        let digit = Exact::ten_to(-i32::try_from(*decimals).unwrap_or_default());
        let exact = value.round_to(&digit, Rounding::HalfUp) == *value;
        let half = &digit * &Exact::ratio(1, 2).unwrap_or_default();
        let share = half.checked_div(value);
        let least = if exact { (1, 51) } else { (1, 200) };
        let least = Exact::ratio(least.0, least.1).unwrap_or_default();
        share.is_some_and(|share| share <= least)
    })
}

/// `70 kg`, `600 g`, `1.8 m2`; none where its decimals do not end.
fn patient(x: &Exact, axis: Unit, style: Style) -> Option<Printed> {
    let quantity = if axis == units::KG && *x < Exact::ONE {
        Quantity::new(x * &Exact::int(1_000), units::G)
    } else {
        Quantity::new(x.clone(), axis)
    };
    style.quantity_exact(&quantity)
}

/// Whether the example is there.
fn stands(at: &ActionPlace<'_>, example: &str) -> bool {
    let stanza = at.site.workspace.stanza(at.id);
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut lines = stanza.lines.iter();
    lines.any(|line| {
        matches!(line.fact, Fact::Expect(_))
            && words(at.text(line.span)) == format!("expect {example}")
    })
}
