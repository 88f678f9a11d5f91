//! Gathering what follows from orders.

use gutta_notation::StanzaKind;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Patient, Variable, View, disallowed};
use gutta_protocol::measures::{Measures, Value, ValueOf};
use gutta_protocol::model::Library;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::{Extent, Size};
use gutta_protocol::working::Working;
use gutta_protocol::{Analysis, StanzaId};
use gutta_quantity::{Exact, Printed, Quantity, Style, Unit, machine, units};

use super::by_name::{ByName, Set, alike};
use super::{
    Derived, DerivedOrder, DerivedPhase, DerivedValue, Number, PatientSetting, Size as Side,
};
use crate::files::Loaded;
use crate::report::Lines;

/// The decimals of a number whose decimal form does not end.
const DECIMALS: u32 = 12;

/// What is asked about.
#[derive(Debug, Default)]
pub(crate) struct DerivedQuery {
    /// Orders by name; none: all.
    pub(crate) orders: Vec<String>,
    /// Weights in kg; none: the ends and corners of the order's range.
    pub(crate) weights: Vec<Exact>,
    /// Surfaces in m2, likewise.
    pub(crate) surfaces: Vec<Exact>,
    /// Settings; none: the order's own.
    pub(crate) doses: Vec<Size>,
    /// Whether the steps to each value are wanted: they are most of the work.
    pub(crate) working: bool,
}

/// All that follows from the orders in the files asked about.
pub(crate) fn gather(loaded: &Loaded, asked: &DerivedQuery) -> Derived {
    let workspace = &loaded.workspace;
    let library = Library::new(workspace);
    let lines = Lines::of(workspace);
    let style = workspace.house.style;
    let mut orders = Vec::new();
    for id in orders_of(loaded, asked) {
        let stanza = workspace.stanza(id);
        let line = |span| {
            lines
                .position(id.file, workspace.place(id, span).span.start)
                .line
        };
        let analysis = Analysis::of(workspace, &library, id);
        let order = &analysis.order;
        let mut derived = DerivedOrder {
            name: order.name.to_string(),
            title: stanza.title.as_ref().map(|title| title.value.to_string()),
            file: workspace.file(id.file).path.to_string(),
            line: line(stanza.header),
            phases: Vec::new(),
            obstacles: Vec::new(),
            outside: Vec::new(),
            settings: Vec::new(),
        };
        let over_the_range = match &analysis.values {
            // For patients asked about alone.
            Ok(values) if !(asked.weights.is_empty() && asked.surfaces.is_empty()) => {
                let all = |view| Measures { order, view }.all(None);
                values.views.iter().flat_map(all).collect()
            }
            _ => Vec::new(),
        };
        let gatherer = Gatherer {
            style,
            over_the_range,
            doses: &asked.doses,
            working: asked.working,
        };
        for patient in patients(order, asked) {
            if let Some(outside) = outside(order, &patient, style) {
                derived.outside.push(outside);
                continue;
            }
            let alone;
            let values = if patient == Patient::default() {
                &analysis.values
            } else {
                alone = gutta_protocol::derive::derive(order, &patient);
                &alone
            };
            match values {
                Ok(values) => {
                    let impossible = gutta_checks::impossible_bags(order, values, line, style);
                    if impossible.is_empty() {
                        gatherer.views(order, &values.views, &mut derived.phases);
                        derived.add_settings(order, &values.views, asked, style);
                    }
                    for told in impossible {
                        if !derived.obstacles.contains(&told) {
                            derived.obstacles.push(told);
                        }
                    }
                }
                Err(incomplete) => {
                    for told in incomplete.told(line) {
                        if !derived.obstacles.contains(&told) {
                            derived.obstacles.push(told);
                        }
                    }
                }
            }
        }
        if !derived.obstacles.is_empty() {
            derived.phases.clear();
            derived.settings.clear();
        }
        orders.push(derived);
    }
    Derived { orders }
}

impl DerivedOrder {
    /// Notes the settings asked about that the order does not allow.
    fn add_settings(&mut self, order: &Order, views: &[View], asked: &DerivedQuery, style: Style) {
        for dose in &asked.doses {
            let dose_told = style.quantity(&dose.quantity());
            for why in disallowed(order, views, dose) {
                let told = format!("{dose_told} is {}", why.told(order, style));
                if !self.settings.contains(&told) {
                    self.settings.push(told);
                }
            }
        }
    }
}

/// The orders asked about; a specimen only by its name.
fn orders_of(loaded: &Loaded, asked: &DerivedQuery) -> Vec<StanzaId> {
    let workspace = &loaded.workspace;
    let all = loaded
        .asked
        .iter()
        .flat_map(|file| workspace.stanzas_in(*file));
    all.filter(|id| {
        let stanza = workspace.stanza(*id);
        let name = stanza.name.as_ref().map_or("", |name| name.value.as_str());
        let named = asked.orders.iter().any(|order| order == name);
        match stanza.kind {
            StanzaKind::Order => named || asked.orders.is_empty(),
            StanzaKind::Specimen => named,
            _ => false,
        }
    })
    .collect()
}

/// The patients asked about, each of whom is derived for alone; one that
/// stands for all where none is.
fn patients(order: &Order, asked: &DerivedQuery) -> Vec<Patient> {
    // What the order does not go by leaves nothing to tell patients apart.
    let choose = |given: &[Exact], extent: &Option<Extent>| match (given, extent) {
        ([], _) | (_, None) => vec![None],
        (given, Some(_)) => given.iter().cloned().map(Some).collect(),
    };
    let surfaces = choose(&asked.surfaces, &order.surface);
    let mut patients = Vec::new();
    for weight in choose(&asked.weights, &order.weight) {
        for surface in &surfaces {
            patients.push(Patient {
                weight: weight.clone(),
                surface: surface.clone(),
            });
        }
    }
    patients
}

/// A weight or surface that the order does not cover, in words.
fn outside(order: &Order, patient: &Patient, style: Style) -> Option<String> {
    let sides = [
        (&patient.weight, &order.weight, units::KG),
        (&patient.surface, &order.surface, units::M2),
    ];
    sides.into_iter().find_map(|(asked, extent, unit)| {
        let (asked, extent) = (asked.as_ref()?, extent.as_ref()?);
        (!extent.reaches(asked)).then(|| told(asked, unit, style).to_string())
    })
}

/// A weight or surface as on the command line.
fn told(value: &Exact, unit: Unit, style: Style) -> Printed {
    style.quantity(&Quantity::new(value.clone(), unit))
}

/// Which of several runs or boluses of its phase a value is of.
fn part(order: &Order, value: &Value) -> Option<String> {
    let phase = order.phases.get(value.phase?)?;
    let told = |word, index: usize, count: usize| {
        (count > 1).then(|| format!("{word} {}", index.saturating_add(1)))
    };
    match (value.run, value.bolus) {
        (Some(run), _) => told("run", run, phase.runs.len()),
        (None, Some(bolus)) => told("bolus", bolus, phase.boluses.len()),
        (None, None) => None,
    }
}

struct Gatherer<'a> {
    style: Style,
    /// The order's values over all its patients: their units hold for each one.
    over_the_range: Vec<Value>,
    doses: &'a [Size],
    working: bool,
}

impl Gatherer<'_> {
    /// Adds the values of the views to the phases, the whole order's last.
    fn views(&self, order: &Order, views: &[View], phases: &mut Vec<DerivedPhase>) {
        if phases.is_empty() {
            let names = order.phases.iter().map(|phase| phase.name.as_ref());
            let has_phases = order.phases.iter().any(|phase| phase.name.is_some());
            *phases = names
                .chain(has_phases.then_some(None))
                .map(|name| DerivedPhase {
                    name: name.map(ToString::to_string),
                    values: Vec::new(),
                })
                .collect();
        }
        let mut all: Vec<_> = views
            .iter()
            .map(|view| self.values(Measures { order, view }))
            .collect();
        let usual = ByName::of(self.over_the_range.iter().map(|value| (value, None)));
        for (value, _) in all.iter_mut().flatten() {
            let mut usual = usual.of_name(value).iter();
            let unit = usual.find(|(usual, _)| alike(usual, value));
            if let Some(unit) = unit.map(|(usual, _)| usual.unit) {
                value.unit = unit;
            }
        }
        let by_name = ByName::of(all.iter().flatten().map(|(value, at)| (value, *at)));
        for (view, values) in views.iter().zip(&all) {
            // Where one value turns, all are of interest.
            let mut turns: Vec<_> = values
                .iter()
                .flat_map(|(value, _)| value.turns(view))
                .collect();
            turns.sort();
            turns.dedup();
            for (value, dose) in values {
                let constant = is_constant(view, value) && {
                    // An edge of the patients may have a number of its own.
                    let others = by_name.of_name(value);
                    let like = |(other, at): &&Set<'_>| at == dose && alike(other, value);
                    others.iter().filter(like).all(|(other, _)| {
                        other.is_constant() && number_of(other) == number_of(value)
                    })
                };
                self.value(order, view, value, *dose, (constant, &turns), phases);
            }
        }
        phases.retain(|phase| phase.name.is_some() || !phase.values.is_empty());
    }

    /// Every value, at each setting asked for where it goes by one.
    fn values(&self, measures: Measures<'_>) -> Vec<(Value, Option<&Size>)> {
        let [first, ..] = self.doses else {
            let all = measures.all(None).into_iter();
            return all.map(|value| (value, None)).collect();
        };
        let by_dose: Vec<_> = self
            .doses
            .iter()
            .map(|dose| (dose, measures.all(Some(dose))))
            .collect();
        let mut values = Vec::new();
        let mut asked = Vec::new();
        for value in measures.all(Some(first)) {
            if !measures.goes_by_setting(&value) {
                values.push((value, None));
                continue;
            }
            let like = |other: &Value| {
                let same = (&other.measure, other.per_day) == (&value.measure, value.per_day);
                same && other.phase == value.phase && measures.goes_by_setting(other)
            };
            if asked.iter().any(like) {
                continue;
            }
            for (dose, all) in &by_dose {
                let at = all.iter().filter(|other| like(other)).cloned();
                values.extend(at.map(|value| (value, Some(*dose))));
            }
            asked.push(value);
        }
        values
    }

    fn value(
        &self,
        order: &Order,
        view: &View,
        value: &Value,
        dose: Option<&Size>,
        (constant, all): (bool, &[Exact]),
        phases: &mut [DerivedPhase],
    ) {
        let place = value.phase.unwrap_or(order.phases.len());
        let last = phases.len().saturating_sub(1);
        let Some(phase) = phases.get_mut(place.min(last)) else {
            return;
        };
        let own;
        let places = if constant {
            own = value.turns(view);
            &own
        } else {
            all
        };
        for x in places {
            let at = |curve: &Option<Curve>, unit| {
                let value = curve.as_ref()?.at(x)?;
                let told = told(&value, unit, self.style);
                Some(Side {
                    exact: told.rounded.then(|| machine::fraction(&value)),
                    text: told.to_string(),
                    value,
                })
            };
            let number = value.at(x).map(|base| self.number(base, value));
            let per_day = if value.per_day { " per day" } else { "" };
            let working = Working {
                order,
                view,
                x,
                dose,
                style: self.style,
            };
            phase.values.push(DerivedValue {
                measure: format!("{}{per_day}", value.measure.name()),
                part: part(order, value),
                at: PatientSetting {
                    weight: at(&view.patients.weight, units::KG),
                    surface: at(&view.patients.surface, units::M2),
                    dose: dose.map(|dose| self.style.quantity(&dose.quantity()).to_string()),
                },
                constant,
                number,
                unit: machine::unit(value.unit),
                working: if self.working {
                    working.steps(value)
                } else {
                    Vec::new()
                },
            });
        }
    }

    fn number(&self, base: Exact, value: &Value) -> Number {
        let quantity = Quantity::from_base(base, value.unit);
        let decimal = machine::decimal(&quantity.value, DECIMALS);
        let base = quantity.base();
        Number {
            exact: machine::fraction(&quantity.value),
            decimal,
            shown: value.number_told(&base, self.style),
            told: value.told(&base, self.style).to_string(),
        }
    }
}

/// Whether a value is the same for every patient of the view, of whom there
/// are several.
fn is_constant(view: &View, value: &Value) -> bool {
    let one = view.patients.interval.is_point() && view.patients.variable != Variable::Nothing;
    !one && value.is_constant()
}

/// The number of a value that is the same for everybody.
fn number_of(value: &Value) -> Option<Exact> {
    match &value.value {
        ValueOf::Exact(curve) | ValueOf::Whole(curve) => curve.is_constant().cloned(),
        _ => None,
    }
}
