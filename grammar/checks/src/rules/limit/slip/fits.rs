//! The corrections of one number with which an order breaks no limit.

use std::rc::Rc;

use gutta_notation::Span;
use gutta_protocol::Analysis;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::Values;
use gutta_protocol::limits::{Breach, Reader, Reads};
use gutta_protocol::model::limit::{LimitForm, Side};
use gutta_protocol::model::order::{Order, Phase, ThenSpec};
use gutta_quantity::Exact;
use rustc_hash::FxHashMap;

use super::bags::Bags;
use super::candidates::{Candidate, candidates};
use super::trials::{Trial, Trials};
use crate::as_if::AsIf;
use crate::context::Mended;
use crate::finding::DoseChange;
use crate::rules::limit::breach::worst;
use crate::slots::{Slot, SlotOf, slots};
use crate::{OrderContext, telling};

/// A correction with which the order breaks no limit at all: the drug's, the
/// area's, the pump's, or the bag's.
#[derive(Debug)]
pub(super) struct Fit {
    pub(super) slot: Slot,
    pub(super) candidate: Candidate,
    pub(super) doses: Option<DoseChange>,
    /// Whether any patient may get more by it: then it is told, and no edit.
    pub(super) raises: bool,
    /// The order so corrected.
    trial: Rc<Trial>,
}

/// What explains the breach of a line, the likeliest first.
#[derive(Debug)]
pub(super) struct Explained {
    /// The line.
    pub(super) line: Span,
    /// Whether all that it breaks is what is usual.
    pub(super) usual: bool,
    /// The likeliest.
    pub(super) first: Fit,
    /// What may be as well.
    pub(super) others: Vec<Fit>,
}

impl Explained {
    /// The order as it would be with the likeliest correction.
    pub(super) fn mended(&self) -> Mended {
        Mended {
            line: self.line,
            right: Rc::clone(&self.first.trial.right),
        }
    }
}

/// More explanations than this would explain nothing: the likeliest stand.
const MOST: usize = 3;

/// The rank from which on a slip is far to seek.
const FAR: u8 = 3;

/// The breaches that a well-known slip in one number would explain.
pub(super) fn explained(as_if: &AsIf<'_>) -> Vec<Explained> {
    let context = as_if.context;
    let order = &context.analysis.order;
    let Ok(values) = &context.analysis.values else {
        return Vec::new();
    };
    let judgement = context.analysis.judgement();
    // What the order does not say, no other number says.
    if judgement.breaches.is_empty() || !judgement.unanswered.is_empty() {
        return Vec::new();
    }
    let bags = Bags::of(order, values);
    let breached = bags.breached(judgement);
    // One number sets right what follows from it alone: a breach elsewhere
    // would stand, whatever is made of it.
    let mut slots = slots(order);
    slots.retain(|slot| matches!(slot.of, SlotOf::Bag | SlotOf::Line));
    slots.retain(|slot| breached.is_subset(&bags.of_line(order, slot.line)));
    let mut of_line: FxHashMap<Span, Vec<&Slot>> = FxHashMap::default();
    for slot in &slots {
        of_line.entry(slot.line).or_default().push(slot);
    }
    let mut explained: Vec<Explained> = Vec::new();
    let trials = Trials::new(*as_if, &bags);
    let fits_of = |breach, slot| fits_of(&trials, values, breach, slot);
    for breach in worst(context, |_| true) {
        let line = breach.reading.span;
        let likely = has_usual(order, breach) && is_no_rounding(breach);
        let likely = likely && breach.is_of_every_patient(values);
        if !likely || explained.iter().any(|known| known.line == line) {
            continue;
        }
        let mut fitting = Vec::new();
        for slot in of_line.get(&line).into_iter().flatten() {
            fitting.extend(fits_of(breach, slot));
        }
        // A number of the bag may be at fault for what a run does; what keeps a
        // vein open has a number of its own.
        let keeps_open = order.phases.iter().any(|phase| keeps_open(phase, line));
        if fitting.is_empty() || !keeps_open {
            for slot in slots
                .iter()
                .filter(|slot| slot.of == SlotOf::Bag && slot.line != line)
            {
                if fitting.len() < MOST {
                    fitting.extend(fits_of(breach, slot));
                }
            }
        }
        let mut fitting = likeliest(fitting).into_iter();
        if let Some(first) = fitting.next() {
            let known = |known: &Explained| {
                let slot = known.first.slot.span == first.slot.span;
                slot && known.first.candidate.told.reads_as(&first.candidate.told)
            };
            if explained.iter().any(known) {
                continue;
            }
            let others = fitting.collect();
            explained.push(Explained {
                line,
                usual: is_usual(context, line),
                first,
                others,
            });
        }
    }
    explained
}

/// Whether all that a line breaks is what is usual.
fn is_usual(context: &OrderContext<'_>, line: Span) -> bool {
    let breaches = context.analysis.judgement().breaches.iter();
    let mut of_line = breaches.filter(|breach| breach.reading.span == line);
    of_line.all(|breach| breach.bound.usual)
}

/// What is far to seek is told only where nothing nearer explains it; and what
/// leaves a worked example wrong only where nothing sets it right.
fn likeliest(mut fitting: Vec<Fit>) -> Vec<Fit> {
    let least = fitting.iter().map(|fit| fit.trial.wrong).min();
    fitting.retain(|fit| Some(fit.trial.wrong) == least);
    let near = fitting.iter().any(|fit| fit.candidate.rank < FAR);
    fitting.retain(|fit| !near || fit.candidate.rank < FAR);
    fitting.truncate(MOST);
    fitting
}

/// Whether a breach is no matter of rounding: what passes a bound by less than
/// 2 % is a wrong number for none.
fn is_no_rounding(breach: &Breach) -> bool {
    let Some((worst, _)) = &breach.worst else {
        return true;
    };
    let bound = &breach.bound.bound;
    (worst - bound).abs() >= &bound.abs() * &Exact::ratio(1, 50).unwrap_or_default()
}

fn keeps_open(phase: &Phase, line: Span) -> bool {
    matches!(&phase.then, Some((ThenSpec::KeepOpen { .. }, span)) if *span == line)
}

fn fits_of(trials: &Trials<'_>, values: &Values, breach: &Breach, slot: &Slot) -> Vec<Fit> {
    let context = trials.context();
    let order = &context.analysis.order;
    // A unit that stands behind another number is that one's.
    let bare = !context.text(slot.span).contains(char::is_alphabetic);
    let of_slot = trials.of_slot(slot);
    let fit = |candidate: Candidate| {
        if bare && candidate.unit != slot.unit {
            return None;
        }
        let trial = of_slot.tried(&candidate)?;
        let raises = raises(breach, &trial.right);
        if raises && has_cap(order, slot.line) {
            // The cap would hide what the number does.
            return None;
        }
        Some(Fit {
            slot: slot.clone(),
            candidate,
            doses: doses(context, values, breach, &trial.right),
            raises,
            trial,
        })
    };
    let candidates = candidates(order, slot, &breach.bound, context.style());
    candidates.into_iter().filter_map(fit).collect()
}

/// Only a `usual` with two ends can be fitted exactly: anything small enough
/// fits under a bound.
fn has_usual(order: &Order, breach: &Breach) -> bool {
    let Some(drug) = &order.drug else {
        return false;
    };
    let usual = |side| {
        drug.value.limits.iter().filter(move |bound| {
            bound.usual && bound.measure == breach.bound.measure && bound.side == side
        })
    };
    usual(Side::Low).any(|low| usual(Side::High).any(|high| high.span == low.span))
}

/// What was out of bounds, before and after, for the patient for whom it was
/// furthest out.
fn doses(
    context: &OrderContext<'_>,
    values: &Values,
    breach: &Breach,
    right: &Analysis,
) -> Option<DoseChange> {
    let (order, style) = (&context.analysis.order, context.style());
    let (old, x) = breach.worst.as_ref()?;
    let new = reading(&right.order, right.values.as_ref().ok()?, breach)?;
    let view = values.views.get(breach.view)?;
    let told = |value: &Exact| telling::told(value, breach.bound.unit, style);
    let constant =
        |value: &Reads| matches!(value, Reads::Value(curve) if curve.is_constant().is_some());
    let one_for_all = constant(&breach.reading.value) && new.is_constant().is_some();
    Some(DoseChange {
        measure: telling::subject(order, breach, None),
        patient: telling::patient(view, x, style)
            .filter(|_| !one_for_all)
            .map(|patient| patient.to_string()),
        old: told(old),
        new: told(&new.at(x)?),
    })
}

/// Whether any patient gets more, or gets it faster, once an order is corrected
/// so; true where that cannot be said.
fn raises(breach: &Breach, right: &Analysis) -> bool {
    let more = || {
        let Reads::Value(old) = &breach.reading.value else {
            return None;
        };
        let new = reading(&right.order, right.values.as_ref().ok()?, breach)?;
        let more = match breach.bound.form {
            LimitForm::Time => old.sub(&new)?,
            _ => new.sub(old)?,
        };
        Some(more.max_value()?.value.is_positive())
    };
    more().unwrap_or(true)
}

/// Whether a line of the order has a maximum of its own.
fn has_cap(order: &Order, line: Span) -> bool {
    use gutta_protocol::model::order::{Preparation, WhatSpec};
    order.phases.iter().any(|phase| {
        let of_run = phase.runs.iter().any(|run| {
            let cap = matches!(&run.what, Some(WhatSpec::Size(_, Some(_))));
            run.span == line && (cap || run.dose_cap.is_some())
        });
        let mut boluses = phase.boluses.iter();
        let of_bag = phase.bag.as_ref().is_some_and(|bag| {
            let cap = matches!(
                &bag.how,
                Preparation::MadeUpTo { cap: Some(_), .. }
                    | Preparation::AddedTo { cap: Some(_), .. }
            );
            bag.span == line && cap
        });
        of_run || of_bag || boluses.any(|bolus| bolus.span == line && bolus.cap.is_some())
    })
}

fn reading(order: &Order, values: &Values, breach: &Breach) -> Option<Curve> {
    let view = values.views.get(breach.view)?;
    let readings = Reader::new(order, view).readings(&breach.bound, true);
    let same = readings.into_iter().find(|reading| {
        let breached = &breach.reading;
        reading.phase == breached.phase
            && reading.run == breached.run
            && reading.at == breached.at
            && reading.span == breached.span
    })?;
    match same.value {
        Reads::Value(curve) => Some(curve),
        Reads::WithoutEnd | Reads::Unknown(_) => None,
    }
}
