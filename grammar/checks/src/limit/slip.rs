#![doc = include_str!("slip.md")]

mod bags;
mod candidates;
mod numbers;
mod weights;

use std::cell::OnceCell;

use gutta_notation::Span;
use gutta_protocol::Analysis;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Patient, Values};
use gutta_protocol::limits::{Breach, Reader, Reads};
use gutta_protocol::model::limit::{LimitForm, Side};
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::Per;
use gutta_quantity::{Exact, Quantity};
use rustc_hash::{FxHashMap, FxHashSet};

use self::bags::Bags;
use self::candidates::{Candidate, candidates};
use self::numbers::{Slot, slots};
use super::breach::worst;
use super::route;
use crate::finding::DoseChange;
use crate::flow::{above_ceiling, outside_pump};
use crate::volume::{above_pump, fluid_load, not_enough};
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity, TextEdit, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.slip",
    severity: Severity::Error,
    locked: false,
    page: include_str!("slip.md"),
    check: Check::Search(check),
};

/// More explanations than this would explain nothing: the likeliest stand.
const MOST: usize = 3;

/// The rank from which on a slip is far to seek.
const FAR: u8 = 3;

/// What is said of every slip.
const NOTE: &str = "That it keeps the limits does not make it right. Look in the source before anything is changed.";

/// The label of the breach that a slip explains.
const BESIDE: &str = "what is out of bounds";

/// Only beside a breach: each number of the breaching line, and of the bag, is
/// set right in each way that is known, and the order judged again.
fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Ok(values) = &context.analysis.values else {
        return;
    };
    weights::check(context, findings);
    if context.analysis.judgement().breaches.is_empty() {
        return;
    }
    let bags = Bags::of(order, values);
    let breached = bags.breached(context.analysis.judgement());
    // One number sets right what follows from it alone: a breach elsewhere
    // would stand, whatever is made of it.
    let mut slots = slots(order);
    slots.retain(|slot| breached.is_subset(&bags.of_line(order, slot.line)));
    let mut of_line: FxHashMap<Span, Vec<&Slot>> = FxHashMap::default();
    for slot in &slots {
        of_line.entry(slot.line).or_default().push(slot);
    }
    let mut explained = FxHashSet::default();
    for breach in worst(context, |_| true) {
        let line = breach.reading.span;
        let likely = has_usual(order, breach) && is_of_all(values, breach);
        if explained.contains(&line) || !likely {
            continue;
        }
        let mut fitting = Vec::new();
        for slot in of_line.get(&line).into_iter().flatten() {
            fitting.extend(fits_of(context, values, breach, slot, &bags));
        }
        // A number of the bag may be at fault for what a run does.
        for slot in slots.iter().filter(|slot| slot.of_bag && slot.line != line) {
            if fitting.len() < MOST {
                fitting.extend(fits_of(context, values, breach, slot, &bags));
            }
        }
        // What is far to seek is told only where nothing nearer explains it.
        let near = fitting.iter().any(|fit| fit.candidate.rank < FAR);
        fitting.retain(|fit| !near || fit.candidate.rank < FAR);
        fitting.truncate(MOST);
        if let Some(first) = fitting.first() {
            explained.insert(line);
            findings.push(report(context, breach, first.slot, &fitting));
        }
    }
}

/// The rules whose findings a slip explains.
const EXPLAINED: [&str; 4] = [
    "limit.adjust-escapes",
    "limit.never",
    "limit.patient",
    "limit.unusual",
];

/// Takes out slips whose breach nobody reports any more, since it is waived:
/// what is meant needs no explanation. Says whether any breach is left.
pub(crate) fn only_beside(findings: &mut Vec<Finding>) -> bool {
    let beside: FxHashSet<_> = findings
        .iter()
        .filter(|finding| EXPLAINED.contains(&finding.rule.name))
        .map(|finding| finding.place)
        .collect();
    findings.retain(|finding| {
        let mut labels = finding.related.iter();
        finding.rule.name != RULE.name
            || labels.any(|label| label.message == BESIDE && beside.contains(&label.place))
    });
    !beside.is_empty()
}

/// Whether a breach is that of every patient, and no matter of rounding: what
/// is right for some of them is a wrong number for none.
fn is_of_all(values: &Values, breach: &Breach) -> bool {
    let Some((worst, _)) = &breach.worst else {
        return true;
    };
    let bound = &breach.bound.bound;
    let small = (worst - bound).abs() < &bound.abs() * &Exact::ratio(1, 50).unwrap_or_default();
    let Some(view) = values.views.get(breach.view) else {
        return false;
    };
    let whole = &view.patients.interval;
    let mut regions = breach.regions.iter();
    let all = regions.any(|region| region.from.x <= *whole.lo() && region.to.x >= *whole.hi());
    all && !small
}

/// A correction with which the order breaks no limit at all: the drug's, the
/// area's, the pump's, or the bag's.
struct Fit<'a> {
    slot: &'a Slot,
    candidate: Candidate,
    doses: Option<DoseChange>,
    /// Whether any patient may get more by it: then it is told, and no edit.
    raises: bool,
}

fn fits_of<'a>(
    context: &OrderContext<'_>,
    values: &Values,
    breach: &Breach,
    slot: &'a Slot,
    bags: &Bags,
) -> Vec<Fit<'a>> {
    let order = &context.analysis.order;
    // A unit that stands behind another number is that one's.
    let bare = !context.text(slot.span).contains(char::is_alphabetic);
    // What goes wrong with the bags concerned alone needs no look at the rest.
    let alone = bags.alone(order, slot.line);
    let fit = |candidate: Candidate| {
        if bare && candidate.unit != slot.unit {
            return None;
        }
        if let Some(alone) = &alone {
            let right = Analysis::of_order(slot.corrected(alone, &candidate)?, &Patient::default());
            if right
                .judgement()
                .breaches
                .iter()
                .any(bags::stays_with_its_bag)
            {
                return None;
            }
        }
        let right = fitting(context, slot.corrected(order, &candidate)?)?;
        let raises = raises(breach, &right);
        if raises && has_lid(order, slot.line) {
            // The lid would hide what the number does.
            return None;
        }
        Some(Fit {
            slot,
            candidate,
            doses: doses(order, values, breach, &right),
            raises,
        })
    };
    let by_weight = matches!(breach.bound.form, LimitForm::Size(form) if form.per == Per::Weight);
    let candidates = candidates(order, slot, by_weight);
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

/// What else a corrected order must keep: what the area, the pump and the bag
/// allow.
const KEPT: [&Rule; 6] = [
    &above_ceiling::RULE,
    &outside_pump::RULE,
    &above_pump::RULE,
    &fluid_load::RULE,
    &not_enough::RULE,
    &route::RULE,
];

/// The values of an order that breaks no limit at all; else nothing.
fn fitting(context: &OrderContext<'_>, order: Order) -> Option<Analysis> {
    let analysis = Analysis::of_order(order, &Patient::default());
    if analysis.values.is_err() {
        return None;
    }
    let judgement = analysis.judgement();
    let kept = judgement.breaches.is_empty()
        && judgement.unchecked.is_empty()
        && judgement.unanswered.is_empty();
    let corrected = OrderContext {
        analysis: &analysis,
        flows: &OnceCell::new(),
        ..*context
    };
    let mut broken = Vec::new();
    for rule in KEPT.iter().filter(|_| kept) {
        if let Check::Order(check) = rule.check {
            check(&corrected, &mut broken);
        }
    }
    (kept && broken.is_empty()).then_some(analysis)
}

/// What was out of bounds, before and after, for the patient for whom it was
/// furthest out.
fn doses(order: &Order, values: &Values, breach: &Breach, right: &Analysis) -> Option<DoseChange> {
    let (old, x) = breach.worst.as_ref()?;
    let new = reading(&right.order, right.values.as_ref().ok()?, breach)?;
    let view = values.views.get(breach.view)?;
    let told = |value: &Exact| Quantity::from_base(value.clone(), breach.bound.unit);
    let constant =
        |value: &Reads| matches!(value, Reads::Value(curve) if curve.is_constant().is_some());
    let one_for_all = constant(&breach.reading.value) && new.is_constant().is_some();
    Some(DoseChange {
        measure: telling::subject(order, breach, None),
        patient: telling::patient(view, x).filter(|_| !one_for_all),
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
fn has_lid(order: &Order, line: Span) -> bool {
    use gutta_protocol::model::order::{Preparation, WhatSpec};
    order.phases.iter().any(|phase| {
        let of_run = phase.runs.iter().any(|run| {
            let lid = matches!(&run.what, Some(WhatSpec::Size(_, Some(_))));
            run.span == line && (lid || run.dose_lid.is_some())
        });
        let mut boluses = phase.boluses.iter();
        let of_bag = phase.bag.as_ref().is_some_and(|bag| {
            let lid = matches!(
                &bag.how,
                Preparation::MadeUpTo { lid: Some(_), .. }
                    | Preparation::AddedTo { lid: Some(_), .. }
            );
            bag.span == line && lid
        });
        of_run || of_bag || boluses.any(|bolus| bolus.span == line && bolus.lid.is_some())
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

fn report(
    context: &OrderContext<'_>,
    breach: &Breach,
    slot: &Slot,
    fitting: &[Fit<'_>],
) -> Finding {
    let written = context.text(slot.span);
    let way = |fit: &Fit<'_>| {
        let Candidate { text, slip, .. } = &fit.candidate;
        if fit.slot.span == slot.span {
            format!("by `{text}` ({slip})")
        } else {
            format!("by `{text}` for `{}` ({slip})", context.text(fit.slot.span))
        }
    };
    let ways: Vec<_> = fitting.iter().map(way).collect();
    let message = format!(
        "A likely slip in `{written}`: every limit would be kept {}.",
        crate::words::any_of(&ways)
    );
    let mut finding = context
        .finding(&RULE, slot.span, message)
        .related(context.place(breach.reading.span), BESIDE)
        .note(NOTE);
    for fit in fitting.iter().filter(|fit| !fit.raises) {
        finding = finding.fix(fix(context, fit));
    }
    if fitting.iter().all(|fit| fit.raises) {
        finding = finding.severity(Severity::Information);
    }
    finding
}

fn fix(context: &OrderContext<'_>, fit: &Fit<'_>) -> Fix {
    let text = &fit.candidate.text;
    let written = context.text(fit.slot.span);
    let mut title = format!("write {text} instead of {written}");
    if let Some(change) = &fit.doses {
        title.push_str(&format!(": {change}"));
    }
    let mut fix = context.replace(fit.slot.span, text.clone()).titled(title);
    if fit.candidate.unit != fit.slot.unit {
        let others = fit.slot.sharing(&context.analysis.order).into_iter();
        for span in others.filter(|span| *span != fit.slot.span) {
            fix.edits.extend(unit_edits(context, span, text));
        }
    }
    fix.doses = fit.doses.clone();
    fix
}

/// Writes the unit of `text` behind the number at `span`, if one stands there.
fn unit_edits(context: &OrderContext<'_>, span: Span, text: &str) -> Vec<TextEdit> {
    let written = context.text(span);
    let (Some((number, old)), Some((_, new))) = (written.rsplit_once(' '), text.rsplit_once(' '))
    else {
        return Vec::new();
    };
    // In groups by blanks, what stands behind the last one may be a number.
    if old.starts_with(|c: char| c.is_ascii_digit()) {
        return Vec::new();
    }
    context.replace(span, format!("{number} {new}")).edits
}

#[cfg(test)]
mod tests;
