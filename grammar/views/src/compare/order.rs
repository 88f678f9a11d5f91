//! What an order states, its names resolved and its gaps filled from its area
//! and its house. Every part is taken apart by name, so that a new one cannot
//! be passed over.

use gutta_checks::telling::unit_of_ages;
use gutta_notation::Spanned;
use gutta_notation::ast::Route;
use gutta_protocol::measures::measure_name;
use gutta_protocol::model::order::{Answer, Expectation, Order, Phase};
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Quantity, Unit, units};

use super::parts::{numbered, of_adjust, of_bag, of_bolus, of_run, of_then};
use super::phases::{State, shared};
use super::statement::{Bearing, Statement, StatementValue, name};
use super::telling::Telling;

/// What the order states; of its phases those that both states have.
pub(super) fn statements(order: &Order, telling: Telling<'_>, state: State) -> Vec<Statement> {
    let Order {
        id: _,
        name: _,
        header: _,
        specimen: _,
        drug,
        area,
        // An area that no order names holds by its ceilings, which are told
        // where they are stated.
        areas_in_scope: _,
        weight,
        surface,
        age,
        // Where the range is stated does not matter.
        states: _,
        dosing_weight,
        high_alert,
        phases,
        expects,
        // Not the order's own words: a change of them is told at their stanza.
        ingredients: _,
        problems: _,
    } = order;
    let mut all = Vec::new();
    if let Some(drug) = drug {
        all.push(name("drug", &drug.value.name));
    }
    all.extend(answer("area", area, |area| area.value.name.to_string()));
    patients(&mut all, weight.as_ref(), "weight", units::KG);
    patients(&mut all, surface.as_ref(), "surface", units::M2);
    patients(&mut all, age.as_ref(), "age", units::DAYS);
    if let Some((most, _)) = dosing_weight {
        let most = StatementValue::Weight(most.clone());
        all.push(Statement::new("dosing weight up to", most, Bearing::MOST));
    }
    if *high_alert {
        all.push(Statement::new(
            "high-alert",
            StatementValue::So,
            Bearing::GUARDS,
        ));
    }
    for (index, phase) in phases.iter().enumerate() {
        match shared(telling.phases, state, index) {
            Some(pair) => of_phase(&mut all, phase, pair),
            None => {
                let name = phase.name.as_deref().unwrap_or("without a name");
                let what = format!("phase {name}");
                all.push(Statement::new(what, StatementValue::So, Bearing::ACTS));
            }
        }
    }
    let example = |expect| expectation(expect, order, telling, state);
    all.extend(expects.iter().filter_map(example));
    all
}

/// Both ends of a range of patients.
pub(super) fn patients(all: &mut Vec<Statement>, extent: Option<&Extent>, of: &str, unit: Unit) {
    let Some(extent) = extent else { return };
    let end = |base: &Exact| match unit {
        units::KG => StatementValue::Weight(base.clone()),
        units::DAYS => StatementValue::Number(base.clone(), unit_of_ages([base].into_iter())),
        unit => StatementValue::Number(base.clone(), unit),
    };
    if let Some(low) = &extent.low {
        let what = format!("patient {of} from");
        all.push(Statement::new(what, end(low), Bearing::LEAST));
    }
    if let Some(high) = &extent.high {
        let below = if extent.high_excluded {
            "below"
        } else {
            "up to"
        };
        let what = format!("patient {of} {below}");
        all.push(Statement::new(what, end(high), Bearing::MOST));
    }
}

fn answer<T>(what: &str, answer: &Answer<T>, name: impl Fn(&T) -> String) -> Option<Statement> {
    let words = match answer {
        Answer::Is(named) => name(named),
        Answer::Any(_) => "any".to_owned(),
        Answer::Unanswered => return None,
    };
    Some(Statement::words(what, words, Bearing::ACTS))
}

fn of_phase(all: &mut Vec<Statement>, phase: &Phase, pair: usize) {
    let Phase {
        name: _,
        span: _,
        bag,
        prime,
        boluses,
        runs,
        adjust,
        flushes,
        ceiling,
        bolus_ceiling,
        then,
        change_bag,
        route,
        pump,
        giving_set,
        purpose,
    } = phase;
    let mut own = Vec::new();
    match bag {
        Some(bag) => of_bag(&mut own, bag),
        None => own.push(name("bag", "the one above")),
    }
    if let Some(prime) = prime {
        own.push(Statement::size("prime", prime, Bearing::ACTS));
    }
    for (index, bolus) in boluses.iter().enumerate() {
        of_bolus(&mut own, bolus, &numbered("bolus", index, boluses.len()));
    }
    for (index, run) in runs.iter().enumerate() {
        of_run(&mut own, run, &numbered("run", index, runs.len()));
    }
    if let Some(adjust) = adjust {
        of_adjust(&mut own, adjust);
    }
    for (size, solution) in flushes {
        own.push(Statement::size("flush", size, Bearing::ACTS));
        own.extend(
            solution
                .as_ref()
                .map(|with| name("flush with", &with.value.name)),
        );
    }
    let bounds = [("ceiling", ceiling), ("bolus ceiling", bolus_ceiling)];
    for (what, bound) in bounds {
        let bound = bound.as_ref();
        own.extend(bound.map(|bound| Statement::size(what, bound, Bearing::MOST)));
    }
    if let Some((then, _)) = then {
        of_then(&mut own, then);
    }
    if let Some(time) = change_bag {
        own.push(Statement::time(
            "change bag every",
            &time.value,
            Bearing::MOST,
        ));
    }
    let of_route = |route: &Spanned<Route>| route.value.phrase().to_owned();
    own.extend(answer("route", route, of_route));
    own.extend(pump.as_ref().map(|pump| name("pump", &pump.value.name)));
    own.extend(
        giving_set
            .as_ref()
            .map(|set| name("giving set", &set.value.name)),
    );
    own.extend(
        purpose
            .as_ref()
            .map(|purpose| name("purpose", &purpose.value)),
    );
    all.extend(own.into_iter().map(|statement| Statement {
        phase: Some(pair),
        ..statement
    }));
}

/// A worked example; of a phase that is gone or new, nothing.
fn expectation(
    expect: &Expectation,
    order: &Order,
    telling: Telling<'_>,
    state: State,
) -> Option<Statement> {
    let Expectation {
        span: _,
        measure,
        value,
        decimals: _,
        value_span: _,
        per_day,
        weight,
        surface,
        dose,
        phase,
    } = expect;
    let pair = match phase {
        None => None,
        Some(phase) => {
            let named = |other: &Phase| other.name.as_ref() == Some(&phase.value);
            let place = order.phases.iter().position(named)?;
            Some(shared(telling.phases, state, place)?)
        }
    };
    let mut what = format!("example of {}", measure_name(&measure.value));
    if *per_day {
        what.push_str(" per day");
    }
    let at = [
        weight.as_ref().map(|weight| (weight, units::KG)),
        surface.as_ref().map(|surface| (surface, units::M2)),
        dose.as_ref().map(|dose| (&dose.value, dose.unit)),
    ];
    for (base, unit) in at.into_iter().flatten() {
        let quantity = match unit {
            units::KG => Quantity::new(base.clone(), unit),
            unit => Quantity::from_base(base.clone(), unit),
        };
        what.push_str(" at ");
        what.push_str(&telling.style.quantity(&quantity).to_string());
    }
    Some(Statement {
        phase: pair,
        ..Statement::new(
            what,
            StatementValue::Number(value.base(), value.unit),
            Bearing::PINS,
        )
    })
}
