//! One phase of a sheet.

use gutta_notation::ast::ExpectMeasure as M;
use gutta_protocol::derive::Values as Derived;
use gutta_protocol::measures::{Group, Measure};
use gutta_protocol::model::order::{AdjustSpec, Answer, Phase as Spec, StepsSpec, ThenSpec};
use gutta_protocol::model::size::Size;
use gutta_protocol::plot::Plot;
use gutta_quantity::{Printed, Quantity, units};

use super::settings::settings;
use super::{Context, Fact, Phase, bag, fact_of};
use crate::overview::{Drawing, DrawnLine};
use crate::table::{ByPatient, Choice};

pub(super) fn phase(
    context: Context<'_>,
    derived: &Derived,
    groups: &[Group<'_>],
    index: usize,
) -> Phase {
    let spec = &context.order.phases[index];
    let own: Vec<_> = groups
        .iter()
        .filter(|group| {
            group
                .value()
                .is_some_and(|value| value.phase == Some(index))
        })
        .collect();
    let chosen = |wanted: &dyn Fn(&Measure) -> bool| {
        let of = own
            .iter()
            .filter(|group| group.value().is_some_and(|value| wanted(&value.measure)));
        of.copied().collect::<Vec<_>>()
    };
    let in_bag = chosen(&is_of_bag);
    let boluses = chosen(&|measure| matches!(measure, Measure::Expect(M::Bolus | M::BolusTime)));
    let settings = settings(context, derived, index);
    // The settings' table has the flow, for everybody.
    let (flow, choice) = match (settings.is_empty(), spec.pump.is_some()) {
        (true, true) => (Some(M::PumpFlow), Choice::Round),
        (true, false) => (Some(M::Flow), Choice::Round),
        (false, _) => (None, Choice::Few),
    };
    let of_run = chosen(&|measure| is_of_run(measure, flow.as_ref()));
    let shared = about(context, &context.order.phases[0]);
    let differs = context
        .order
        .phases
        .iter()
        .any(|phase| about(context, phase) != shared);
    let prepare = spec
        .bag
        .as_ref()
        .map(|spec| bag::steps(context, spec, &in_bag));
    let plots = Plot::all(context.order, derived);
    let drawn = plots.iter().filter(|plot| plot.phase == index);
    let drawings =
        drawn.map(|plot| Drawing::of(context.workspace, context.order, plot, context.style));
    Phase {
        name: spec.name.as_ref().map(ToString::to_string),
        about: if differs {
            about(context, spec)
        } else {
            Vec::new()
        },
        prepare: prepare.unwrap_or_default(),
        bag: in_table(context.by_patient(derived, &in_bag, Choice::Round)),
        around: around(context, spec),
        boluses: context.by_patient(derived, &boluses, Choice::Round),
        runs: spec
            .runs
            .iter()
            .map(|run| context.written(run.span))
            .collect(),
        values: context.by_patient(derived, &of_run, choice),
        titration: spec
            .adjust
            .as_ref()
            .map(|adjust| titration(context, adjust)),
        settings,
        drawings: telling(drawings.collect()),
        then: spec
            .then
            .as_ref()
            .map(|(then, _)| fact_of("Then", then_told(context, spec, then))),
    }
}

/// The drawings that tell something: not one of level lines alone, and one for
/// views that look the same.
fn telling(all: Vec<Drawing>) -> Vec<Drawing> {
    let is_level = |line: &DrawnLine| {
        let mut points = line.strokes.iter().flatten();
        let first = points.next();
        points.all(|point| first.is_some_and(|first| first.y == point.y))
    };
    let mut kept: Vec<Drawing> = Vec::new();
    for drawing in all {
        let like = |known: &&mut Drawing| known.run == drawing.run && known.lines == drawing.lines;
        if let Some(known) = kept.iter_mut().find(like) {
            known.with = None;
        } else if !drawing.lines.iter().all(is_level) {
            kept.push(drawing);
        }
    }
    kept
}

/// The steps say what is the same for all.
fn in_table(mut values: ByPatient) -> ByPatient {
    values.same.clear();
    values
}

const fn is_of_bag(measure: &Measure) -> bool {
    matches!(
        measure,
        Measure::Expect(M::Draw | M::Strength | M::TrueStrength)
            | Measure::Containers
            | Measure::Diluent
    )
}

fn is_of_run(measure: &Measure, flow: Option<&M>) -> bool {
    match measure {
        Measure::Expect(M::Drops | M::Time | M::Volume | M::Dose) => true,
        Measure::Expect(measure) => Some(measure) == flow,
        Measure::RunsDry | Measure::Bags => true,
        _ => false,
    }
}

/// Route, pump, giving set and purpose.
pub(super) fn about(context: Context<'_>, phase: &Spec) -> Vec<Fact> {
    let mut all = Vec::new();
    let route = match &phase.route {
        Answer::Is(route) => route.value.phrase(),
        Answer::Any(_) => "any: the strictest limits apply",
        Answer::Unanswered => "not stated: the strictest limits apply",
    };
    all.push(fact_of("Route", route));
    if let Some(pump) = &phase.pump {
        all.push(fact_of("Pump", context.title(pump.id)));
    }
    if let Some(set) = &phase.giving_set {
        all.push(fact_of("Giving set", context.title(set.id)));
    }
    if let Some(purpose) = &phase.purpose {
        all.push(fact_of("Purpose", purpose.value.as_str()));
    }
    all
}

/// What the mixture is in: a pump may run a syringe.
fn container(phase: &Spec) -> &'static str {
    match &phase.pump {
        Some(pump) if pump.value.takes_syringe() => "syringe",
        _ => "bag",
    }
}

/// What is done before and around the run.
fn around(context: Context<'_>, phase: &Spec) -> Vec<Fact> {
    let mut all = Vec::new();
    if let Some(prime) = &phase.prime {
        let volume = told(context, prime);
        let text = format!(
            "{volume}, from the {}; none of it reaches the patient",
            container(phase)
        );
        all.push(fact_of("Prime the line", text));
    }
    for bolus in &phase.boluses {
        all.push(fact_of("Bolus", context.written(bolus.span)));
    }
    if let Some(ceiling) = &phase.ceiling {
        all.push(fact_of(
            "Never faster than",
            told(context, ceiling).to_string(),
        ));
    }
    if let Some(ceiling) = &phase.bolus_ceiling {
        let ceiling = told(context, ceiling).to_string();
        all.push(fact_of("Bolus never faster than", ceiling));
    }
    if let Some(time) = &phase.change_bag {
        let every = Quantity::from_base(time.value.clone(), units::H);
        let every = context.style.quantity_shown(&every).to_string();
        all.push(fact_of(
            &format!("Change the {} every", container(phase)),
            every,
        ));
    }
    for (size, solution) in &phase.flushes {
        let with = solution
            .as_ref()
            .map(|with| format!(" of {}", context.title(with.id)));
        let text = format!("{}{}", told(context, size), with.unwrap_or_default());
        all.push(fact_of("Flush afterwards", text));
    }
    all
}

fn titration(context: Context<'_>, adjust: &AdjustSpec) -> String {
    let every = Quantity::from_base(adjust.every.value.clone(), units::H);
    let every = context.style.quantity_shown(&every);
    match &adjust.steps {
        StepsSpec::By { low, high, step } => format!(
            "By one step of {}, up or down, no more often than every {every}; not below {} and not above {}.",
            told(context, step),
            told(context, low),
            told(context, high),
        ),
        StepsSpec::List(list) => {
            let list: Vec<_> = list
                .iter()
                .map(|size| told(context, size).to_string())
                .collect();
            format!(
                "To the next of {}, up or down, no more often than every {every}.",
                list.join(", ")
            )
        }
    }
}

fn then_told(context: Context<'_>, phase: &Spec, then: &ThenSpec) -> String {
    let container = container(phase);
    match then {
        ThenSpec::Stop => "Stop.".to_owned(),
        ThenSpec::Renew(lasting) => {
            let lasting = lasting.as_ref().map(|time| {
                let time = Quantity::from_base(time.value.clone(), units::H);
                format!(", for {}", context.style.quantity_shown(&time))
            });
            let start = match container {
                "syringe" => "Start",
                _ => "Hang",
            };
            format!(
                "{start} the next {container}, of the same mixture, at the current setting, without a bolus or priming{}.",
                lasting.unwrap_or_default()
            )
        }
        ThenSpec::KeepOpen { rate, solution } => {
            let with = match solution {
                Some(with) => context.title(with.id),
                None => format!("the same {container}: the drug continues"),
            };
            format!("Keep the vein open at {} with {with}.", told(context, rate))
        }
    }
}

fn told(context: Context<'_>, size: &Size) -> Printed {
    context.style.quantity(&size.quantity())
}
