//! The values of an order that are set side by side, each under its name.

use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::derive::View;
use gutta_protocol::measures::{Measure, Measures, Question, Value, ValueOf, amount_unit};
use gutta_protocol::model::order::{Order, Preparation, WaySpec, WhatSpec};
use gutta_protocol::model::size::{Size, Stuff};
use gutta_quantity::{Dimension, Unit, units};
use rustc_hash::FxHashMap;

use super::phases::{State, shared};
use super::telling::Telling;

/// A value under the name that it is told by.
pub(super) struct Item {
    pub(super) name: String,
    pub(super) pair: Option<usize>,
    pub(super) value: Value,
    /// Whether a line of the order states its number: whoever changed that line
    /// changed this, and the rest follows.
    pub(super) written: bool,
}

/// What a value is of: its name, phase, run and bolus.
type ItemKey = (String, Option<usize>, Option<usize>, Option<usize>);

impl Item {
    fn of(&self) -> ItemKey {
        let (run, bolus) = (self.value.run, self.value.bolus);
        (self.name.clone(), self.pair, run, bolus)
    }

    pub(super) fn dimension(&self) -> Dimension {
        self.value.unit.dimension()
    }
}

/// The items before, found by what they are of.
pub(super) struct Olds {
    items: Vec<Option<Item>>,
    places: FxHashMap<ItemKey, Vec<usize>>,
}

impl Olds {
    pub(super) fn of(items: Vec<Item>) -> Self {
        let mut places: FxHashMap<_, Vec<_>> = FxHashMap::default();
        for (place, item) in items.iter().enumerate() {
            places.entry(item.of()).or_default().push(place);
        }
        Self {
            items: items.into_iter().map(Some).collect(),
            places,
        }
    }

    /// Takes the first out that is of the same and fits.
    pub(super) fn take(&mut self, new: &Item, fits: impl Fn(&Item) -> bool) -> Option<Item> {
        let places = self.places.get_mut(&new.of())?;
        let items = &mut self.items;
        let index = places.iter().position(|place| {
            let old = items.get(*place).and_then(Option::as_ref);
            old.is_some_and(&fits)
        })?;
        items.get_mut(places.remove(index))?.take()
    }

    /// Those that nothing now is like.
    pub(super) fn left(self) -> impl Iterator<Item = Item> {
        self.items.into_iter().flatten()
    }
}

/// Every value of the phases that both states have: those that are shown
/// elsewhere too, what is in the bag, and the flow at both ends of an adjust.
pub(super) fn items(measures: Measures<'_>, telling: Telling<'_>, state: State) -> Vec<Item> {
    let Measures { order, view } = measures;
    let mut all = in_bags(view);
    let bags = all.len();
    for value in measures.all(None) {
        all.push((name_of(&value), value));
    }
    let own = all.len();
    for (phase, spec) in order.phases.iter().enumerate() {
        let Some(adjust) = &spec.adjust else { continue };
        let ends = [
            (adjust.steps.low(), "the lowest setting"),
            (adjust.steps.high(), "the highest setting"),
        ];
        for (setting, word) in ends {
            let Some(setting) = setting else { continue };
            let adjusted = at_setting(measures, phase, setting);
            all.extend(
                adjusted
                    .into_iter()
                    .map(|value| (format!("{} at {word}", value.measure.name()), value)),
            );
        }
    }
    let placed = all
        .into_iter()
        .enumerate()
        .filter_map(|(at, (name, value))| {
            let written = at < bags || (at < own && is_written(order, &value));
            let pair = match value.phase {
                None => None,
                Some(phase) => Some(shared(telling.phases, state, phase)?),
            };
            Some(Item {
                name: of_which(name, &value, view),
                pair,
                value,
                written,
            })
        });
    placed.collect()
}

/// Whether it is the number of a line: of a run, of a bolus, or of a bag that is
/// bought as it is.
fn is_written(order: &Order, value: &Value) -> bool {
    use ExpectMeasure as Is;
    let Measure::Expect(measure) = &value.measure else {
        return false;
    };
    let Some(phase) = value.phase.and_then(|phase| order.phases.get(phase)) else {
        return false;
    };
    if let Some(bolus) = value.bolus {
        return *measure == Is::Bolus && phase.boluses.get(bolus).is_some();
    }
    let run = value.run.and_then(|run| phase.runs.get(run));
    let set_by = |wanted: fn(&WaySpec) -> bool| run.is_some_and(|run| run.ways.iter().any(wanted));
    let at = |stuff: fn(Stuff) -> bool| {
        let mut ways = run.iter().flat_map(|run| &run.ways);
        ways.any(|way| matches!(way, WaySpec::At(rate) if stuff(rate.form.stuff)))
    };
    match measure {
        Is::Dose => at(|stuff| matches!(stuff, Stuff::Drug(_))),
        Is::Flow => at(|stuff| stuff == Stuff::Volume),
        Is::Drops => at(|stuff| stuff == Stuff::Drops),
        Is::Time => set_by(|way| matches!(way, WaySpec::Over(_))),
        Is::Volume => run.is_some_and(|run| matches!(run.what, Some(WhatSpec::Size(..)))),
        Is::Strength => phase
            .bag
            .as_ref()
            .is_some_and(|bag| matches!(bag.how, Preparation::PremixedStrength { .. })),
        _ => false,
    }
}

/// A total's name says per what it is taken; of the rest the unit does.
fn name_of(value: &Value) -> String {
    use ExpectMeasure::{Fluid, Substance, Total};
    let is_total = matches!(value.measure, Measure::Expect(Total | Fluid | Substance(_)));
    let dimension = value.unit.dimension();
    let per = match (dimension.weight, dimension.surface) {
        (-1, _) if is_total => " per kg",
        (_, -1) if is_total => " per m2",
        _ => "",
    };
    let day = if value.per_day { " per day" } else { "" };
    format!("{}{per}{day}", value.measure.name())
}

/// The name with the run or bolus, where a phase has several.
fn of_which(name: String, value: &Value, view: &View) -> String {
    let phase = value.phase.and_then(|phase| view.phases.get(phase));
    match (phase, value.run, value.bolus) {
        (Some(phase), Some(run), _) if phase.runs.len() > 1 => {
            format!("{name} of run {}", run + 1)
        }
        (Some(phase), _, Some(bolus)) if phase.boluses.len() > 1 => {
            format!("{name} of bolus {}", bolus + 1)
        }
        _ => name,
    }
}

fn at_setting(measures: Measures<'_>, phase: usize, setting: &Size) -> Vec<Value> {
    let mut values = Vec::new();
    for measure in [ExpectMeasure::Flow, ExpectMeasure::PumpFlow] {
        let asked = Question {
            measure: &measure,
            per_day: false,
            dose: Some(setting),
            unit: None,
        };
        values.extend(measures.answer(&asked).into_iter().filter(|value| {
            let adjusted = |run| measures.view.adjusted(measures.order, phase, run);
            value.phase == Some(phase) && value.run.and_then(adjusted).is_some()
        }));
    }
    values
}

/// What is in each bag: of that `expect` has no word.
fn in_bags(view: &View) -> Vec<(String, Value)> {
    let mut all = Vec::new();
    for (phase, derived) in view.bags() {
        let mut push = |name: &str, curve: &gutta_protocol::curve::Curve, unit: Unit| {
            let value = Value {
                measure: Measure::Expect(ExpectMeasure::Volume),
                per_day: false,
                phase: Some(phase),
                run: None,
                bolus: None,
                span: gutta_notation::Span::new(0, 0),
                unit,
                value: ValueOf::Exact(curve.clone()),
            };
            all.push((name.to_owned(), value));
        };
        if let Some(drug) = &derived.bag.drug {
            push("drug in the bag", &drug.amount, amount_unit(drug.kind));
        }
        push("volume of the bag", &derived.bag.volume, units::ML);
    }
    all
}
