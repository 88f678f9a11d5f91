//! What the rules on breaches share: one finding for each line and bound,
//! whatever number of views meet it.

use std::collections::BTreeSet;
use std::collections::hash_map::Entry;

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::StanzaId;
use gutta_protocol::derive::{At, Besides, Values};
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::{LimitForm, Side, TotalOver};
use gutta_quantity::{Quantity, work};
use rustc_hash::FxHashMap;

use crate::beyond::Beyond;
use crate::finding::Excess;
use crate::lines::line_at;
use crate::telling;
use crate::words::WORKED_OUT;
use crate::{Finding, OrderContext, Rule};

/// The breaches that `pick` picks, the worst view of each line and bound. At a
/// setting that may be reached by adjusting, only where it breaches for others
/// than the start itself does: one slip, one finding.
pub(super) fn worst<'a>(
    context: &OrderContext<'a>,
    pick: impl Fn(&Breach) -> bool,
) -> Vec<&'a Breach> {
    worst_of(&context.analysis.judgement().breaches, pick)
}

/// The same of these.
pub(super) fn worst_of(breaches: &[Breach], pick: impl Fn(&Breach) -> bool) -> Vec<&Breach> {
    work::charge_each(breaches.len());
    let run_of = |breach: &Breach| {
        let reading = &breach.reading;
        (bound_of(breach), reading.phase, reading.run, breach.view)
    };
    let at_start: FxHashMap<_, _> = breaches
        .iter()
        .filter(|breach| breach.reading.at == At::Start)
        .map(|breach| (run_of(breach), breach))
        .collect();
    let mut worst: Vec<&Breach> = Vec::new();
    let mut known: FxHashMap<_, usize> = FxHashMap::default();
    for breach in breaches.iter().filter(|breach| pick(breach)) {
        let started = at_start.get(&run_of(breach));
        if breach.reading.at != At::Start && started.is_some_and(|start| start.covers(breach)) {
            continue;
        }
        match known.entry((bound_of(breach), breach.reading.span)) {
            Entry::Occupied(place) => {
                let known = &mut worst[*place.get()];
                if further(breach, known) {
                    *known = breach;
                }
            }
            Entry::Vacant(place) => {
                place.insert(worst.len());
                worst.push(breach);
            }
        }
    }
    worst
}

/// Which bound it is, of which drug.
fn bound_of(breach: &Breach) -> (Span, Span, StanzaId) {
    (breach.bound.span, breach.bound.bound_span, breach.drug)
}

fn of_one_line_and_bound(one: &Breach, other: &Breach) -> bool {
    bound_of(one) == bound_of(other) && other.reading.span == one.reading.span
}

fn further(one: &Breach, other: &Breach) -> bool {
    match (&one.worst, &other.worst) {
        (None, Some(_)) => true,
        (Some((one_value, _)), Some((other_value, _))) => match one.bound.side {
            Side::High => one_value > other_value,
            Side::Low => one_value < other_value,
        },
        _ => false,
    }
}

/// So many breaches are looked through in a unit of work.
const BREACHES_A_UNIT: usize = 8;

/// A finding about a breach, pointing at the order's line and the drug's.
pub(super) fn finding(
    context: &OrderContext<'_>,
    rule: &'static Rule,
    breach: &Breach,
    values: &Values,
    what: &str,
) -> Finding {
    let order = &context.analysis.order;
    let style = context.style();
    let bound = &breach.bound;
    let over = match &bound.over {
        TotalOver::Any(window) if bound.measure == LimitMeasure::Total => {
            format!(" in {}", telling::clock(window, style))
        }
        _ => String::new(),
    };
    let drug = context.workspace.stanza(breach.drug).name.as_ref();
    let drug = drug.map(|name| name.value.as_str());
    let step = match breach.reading.at {
        At::Start => "",
        At::Low => "at the lowest step of `adjust` ",
        At::High => "at the highest step of `adjust` ",
    };
    let subject = format!("{step}{}{over}", telling::subject(order, breach, drug));
    let limit = telling::bound_told(bound, style);
    let breaches = &context.analysis.judgement().breaches;
    work::charge_each(1 + breaches.len() / BREACHES_A_UNIT);
    let alike = breaches.iter().filter(|other| {
        of_one_line_and_bound(breach, other)
            && other.reading.at == breach.reading.at
            && (&other.regions, &other.worst) == (&breach.regions, &breach.worst)
    });
    let views: BTreeSet<_> = alike.map(|other| other.view).collect();
    let message = match Beyond::of_breach(breach, views.len()) {
        Some(beyond) if bound.usual => {
            beyond.told_usual(values, &subject, &limit, bound.unit, style)
        }
        Some(beyond) => beyond.told_never(values, &subject, &limit, bound.unit, style),
        None => format!(
            "{} has no end in this order, so it exceeds {limit}.",
            telling::sentence(&subject)
        ),
    };
    let place = context.workspace.place(breach.drug, breach.bound.span);
    let extreme = breach
        .worst
        .as_ref()
        .map(|(value, _)| Quantity::from_base(value.clone(), breach.bound.unit));
    let (low, high) = match breach.bound.side {
        Side::High => (None, extreme),
        Side::Low => (extreme, None),
    };
    let mut finding = context
        .finding(rule, breach.reading.span, message)
        .related(place, what.to_owned())
        .extent(Excess {
            measure: breach.bound.measure,
            low,
            high,
        });
    if let Some(note) = counted_besides(context, breach, values) {
        finding = finding.note(note);
    }
    if let Some(note) = counted_primed(context, breach, values) {
        finding = finding.note(note);
    }
    if bound.form == LimitForm::Osmolarity && is_worked_out(context, breach, values) {
        finding = finding.note(WORKED_OUT);
    }
    finding
}

/// What was primed and is pushed out of the line after the drug: an upper bound
/// of an amount counts it, though no line runs it.
fn counted_primed(context: &OrderContext<'_>, breach: &Breach, values: &Values) -> Option<String> {
    let of_amount = matches!(
        breach.bound.measure,
        LimitMeasure::SingleDose | LimitMeasure::Bolus | LimitMeasure::Total
    );
    let view = values.views.get(breach.view)?;
    let primes = view.phases.iter().any(|phase| phase.prime.is_some());
    let of_dose = breach.bound.measure == LimitMeasure::Dose && breach.reading.run.is_none();
    if !(of_amount || of_dose) || !primes || breach.bound.side != Side::High {
        return None;
    }
    let delivery = view.delivery(&context.analysis.order, At::Start)?;
    let mut pushed = delivery.pushed.iter();
    let pushed = pushed.find(|pushed| {
        let from = view.phases.get(pushed.phase);
        let drug = from.is_some_and(|phase| phase.bag.drug.is_some());
        drug && (of_amount || pushed.span == breach.reading.span)
    })?;
    let line = line_at(context, pushed.span)?;
    Some(format!(
        "This includes what the line was primed with: `{}` pushes it into the patient.",
        context.workspace.written(context.place(line.span))
    ))
}

/// Whether the osmolarity of the bag is not stated.
fn is_worked_out(context: &OrderContext<'_>, breach: &Breach, values: &Values) -> bool {
    let view = values.views.get(breach.view);
    let osmolarity =
        view.and_then(|view| view.osmolarity(&context.analysis.order, breach.reading.phase));
    osmolarity.is_some_and(|osmolarity| osmolarity.most.as_ref() != Some(&osmolarity.least))
}

/// What of the drug's substance the bag's solution adds to what is judged: the
/// value is more than the order's own lines of the drug make it.
fn counted_besides(context: &OrderContext<'_>, breach: &Breach, values: &Values) -> Option<String> {
    let counts_drug = match breach.bound.form {
        LimitForm::Size(form) => form.drug().is_some(),
        LimitForm::Strength(_) => true,
        LimitForm::Time | LimitForm::Osmolarity => false,
    };
    let order = &context.analysis.order;
    let phase = breach.reading.phase;
    let view = values.views.get(breach.view).filter(|_| counts_drug)?;
    let Besides::Brings { substance, .. } = view.besides(order, phase) else {
        return None;
    };
    let bag = view.phases.get(phase)?.bag.phase;
    let solution = order.phases.get(bag)?.bag.as_ref()?.solution.as_ref()?;
    Some(format!(
        "This includes the {substance} in `{}`, as well as the drug's own.",
        solution.name
    ))
}
