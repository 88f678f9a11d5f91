//! Gathering what follows from orders.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{DigitGroups, StanzaKind};
use gutta_protocol::derive::{Patient, Variable, View};
use gutta_protocol::measures::{Measures, Question, Value};
use gutta_protocol::model::Library;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::{Extent, Size};
use gutta_protocol::working::{Working, measure_name};
use gutta_protocol::{Analysis, StanzaId};
use gutta_quantity::print::Digits;
use gutta_quantity::{Exact, Quantity, Rounding, Unit, units};

use super::{At, Derived, DerivedOrder, DerivedPhase, DerivedValue, Number};
use crate::files::Loaded;
use crate::report::Lines;

/// The decimals of a number whose decimal form does not end.
const DECIMALS: u32 = 12;

/// What is asked about.
#[derive(Debug, Default)]
pub(crate) struct Asked {
    /// Orders by name; none: all.
    pub(crate) orders: Vec<String>,
    /// Weights in kg; none: the ends and corners of the order's range.
    pub(crate) weights: Vec<Exact>,
    /// Surfaces in m2, likewise.
    pub(crate) surfaces: Vec<Exact>,
    /// Settings; none: the order's own.
    pub(crate) doses: Vec<Size>,
}

/// All that follows from the orders in the files asked about.
pub(crate) fn gather(loaded: &Loaded, asked: &Asked) -> Derived {
    let workspace = &loaded.workspace;
    let library = Library::new(workspace);
    let lines = Lines::of(workspace);
    let digits = match workspace.house.style.digit_groups {
        DigitGroups::Comma => Digits::Comma,
        DigitGroups::Space => Digits::Space,
    };
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
        };
        let gatherer = Gatherer {
            digits,
            doses: &asked.doses,
        };
        for patient in patients(order, asked) {
            if let Some(outside) = outside(order, &patient, digits) {
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
                    for view in &values.views {
                        gatherer.view(order, view, &mut derived.phases);
                    }
                }
                Err(incomplete) => {
                    for problem in &incomplete.problems {
                        let told = problem.kind.told(line(problem.span));
                        if !derived.obstacles.contains(&told) {
                            derived.obstacles.push(told);
                        }
                    }
                }
            }
        }
        if !derived.obstacles.is_empty() {
            derived.phases.clear();
        }
        orders.push(derived);
    }
    Derived { orders }
}

/// The orders asked about; a specimen only by its name.
fn orders_of(loaded: &Loaded, asked: &Asked) -> Vec<StanzaId> {
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
fn patients(order: &Order, asked: &Asked) -> Vec<Patient> {
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
fn outside(order: &Order, patient: &Patient, digits: Digits) -> Option<String> {
    let sides = [
        (&patient.weight, &order.weight, units::KG),
        (&patient.surface, &order.surface, units::M2),
    ];
    sides.into_iter().find_map(|(asked, extent, unit)| {
        let (asked, extent) = (asked.as_ref()?, extent.as_ref()?);
        let below = extent.low.as_ref().is_some_and(|low| asked < low);
        let above = extent.high.as_ref().is_some_and(|high| asked > high);
        (below || above).then(|| told(asked, unit, digits))
    })
}

/// A weight or surface as on the command line.
fn told(value: &Exact, unit: Unit, digits: Digits) -> String {
    digits.quantity(&Quantity::new(value.clone(), unit))
}

struct Gatherer<'a> {
    digits: Digits,
    doses: &'a [Size],
}

impl Gatherer<'_> {
    /// Adds the values of a view to the phases, the whole order's last.
    fn view(&self, order: &Order, view: &View, phases: &mut Vec<DerivedPhase>) {
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
        let measures = Measures { order, view };
        let mut values: Vec<(Value, Option<&Size>)> = Vec::new();
        let mut asked = Vec::new();
        for value in measures.all() {
            if self.doses.is_empty() || !is_set(&value.measure) {
                values.push((value, None));
                continue;
            }
            // All runs that have the measure answer at once.
            if asked.contains(&value.measure) {
                continue;
            }
            for dose in self.doses {
                let question = Question {
                    measure: &value.measure,
                    per_day: false,
                    dose: Some(dose),
                    unit: None,
                };
                let answers = measures.answer(&question).into_iter();
                values.extend(answers.map(|value| (value, Some(dose))));
            }
            asked.push(value.measure);
        }
        // Where one value turns, all are of interest.
        let mut all: Vec<_> = values
            .iter()
            .flat_map(|(value, _)| places(view, value))
            .collect();
        all.sort();
        all.dedup();
        for (value, dose) in &values {
            self.value(order, view, value, *dose, &all, phases);
        }
        phases.retain(|phase| phase.name.is_some() || !phase.values.is_empty());
    }

    fn value(
        &self,
        order: &Order,
        view: &View,
        value: &Value,
        dose: Option<&Size>,
        all: &[Exact],
        phases: &mut [DerivedPhase],
    ) {
        let place = value.phase.unwrap_or(order.phases.len());
        let last = phases.len().saturating_sub(1);
        let Some(phase) = phases.get_mut(place.min(last)) else {
            return;
        };
        let one = view.patients.interval.is_point() && view.patients.variable != Variable::Nothing;
        let constant = !one
            && value
                .curve()
                .is_some_and(|curve| curve.is_constant().is_some());
        let own;
        let places = if constant {
            own = places(view, value);
            &own
        } else {
            all
        };
        for x in places {
            let at = |curve: &Option<gutta_protocol::curve::Curve>, unit| {
                let value = curve.as_ref()?.at(x)?;
                Some(told(&value, unit, self.digits))
            };
            let number = value.at(x).map(|base| self.number(base, value));
            let per_day = if value.per_day { " per day" } else { "" };
            phase.values.push(DerivedValue {
                measure: format!("{}{per_day}", measure_name(&value.measure)),
                at: At {
                    weight: at(&view.patients.weight, units::KG),
                    surface: at(&view.patients.surface, units::M2),
                    dose: dose.map(|dose| self.digits.quantity(&dose.quantity())),
                },
                constant,
                number,
                unit: value.unit.to_string(),
                working: working(Working { order, view, x }.steps(value), dose),
            });
        }
    }

    fn number(&self, base: Exact, value: &Value) -> Number {
        let quantity = Quantity::from_base(base, value.unit);
        let decimal = Digits::None.decimal(&quantity.value, DECIMALS, Rounding::HalfUp);
        // Beside the pump's flow, the exact one is wanted as it is.
        let told = match value.measure {
            ExpectMeasure::Flow => self.digits.quantity(&quantity),
            _ => self.digits.quantity_shown(&quantity),
        };
        Number {
            exact: quantity.value.to_string(),
            decimal,
            shown: self.digits.shown(&quantity.value, value.unit),
            told,
        }
    }
}

/// The steps to a value. They are those of the order's own setting: at another
/// one only the last holds.
fn working(mut steps: Vec<String>, dose: Option<&Size>) -> Vec<String> {
    if dose.is_some() {
        steps.drain(..steps.len().saturating_sub(1));
    }
    steps
}

/// What another setting changes.
const SET: [ExpectMeasure; 5] = [
    ExpectMeasure::Flow,
    ExpectMeasure::PumpFlow,
    ExpectMeasure::Drops,
    ExpectMeasure::Time,
    ExpectMeasure::Dose,
];

fn is_set(measure: &ExpectMeasure) -> bool {
    SET.contains(measure)
}

/// The ends of the range, and every corner between.
fn places(view: &View, value: &Value) -> Vec<Exact> {
    use gutta_protocol::measures::ValueOf;
    match &value.value {
        ValueOf::Exact(curve) | ValueOf::Pump { flow: curve, .. } => curve.breaks(),
        ValueOf::WithoutEnd => vec![view.patients.interval.lo().clone()],
    }
}
