//! A maximum that may have been left out: where a dose by weight or surface
//! passes a bound for the whole patient, and only for some patients.

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::Analysis;
use gutta_protocol::derive::{At, Patient, Values};
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::{LimitBound, LimitForm, Side};
use gutta_protocol::model::order::{Order, Preparation, WaySpec};
use gutta_protocol::model::size::{Per, Size};
use gutta_quantity::work;
use rustc_hash::FxHashMap;

use super::breach::worst;
use super::never;
use crate::{Finding, OrderContext};

/// Offers, for each line that passes a `never` so, the bound of a `never` as the
/// line's maximum with which that one is kept. A search: each maximum is tried.
pub(super) fn offer(context: &OrderContext<'_>, findings: &mut [Finding]) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let at_start = |breach: &Breach| !breach.bound.usual && breach.reading.at == At::Start;
    let passed = worst(context, at_start);
    let mut caps: Vec<Cap<'_>> = Vec::new();
    for breach in &passed {
        let cap = Cap::of_breach(context, breach, values);
        caps.extend(cap.filter(|cap| !caps.contains(cap)));
    }
    work::charge_each(caps.len());
    let mut tried: FxHashMap<usize, Option<Analysis>> = FxHashMap::default();
    for breach in &passed {
        let Some(own) = Cap::of_breach(context, breach, values) else {
            continue;
        };
        let mut kept = None;
        for (index, cap) in caps.iter().enumerate() {
            if cap.on.span != own.on.span {
                continue;
            }
            let right = tried
                .entry(index)
                .or_insert_with(|| cap.written(&context.analysis.order));
            let Some(right) = right.as_ref().filter(|right| keeps(right, breach)) else {
                continue;
            };
            let all = right.judgement().breaches.is_empty();
            if all || kept.is_none() {
                kept = Some((cap, all));
            }
            if all {
                break;
            }
        }
        let Some((cap, all)) = kept else { continue };
        let place = (
            context.place(breach.reading.span),
            context.workspace.place(breach.drug, breach.bound.span),
        );
        let of_breach = findings.iter_mut().filter(|finding| {
            let mut related = finding.related.iter();
            let same = finding.rule.name == never::RULE.name && finding.place == place.0;
            same && related.any(|related| related.place == place.1)
        });
        for finding in of_breach {
            cap.offer(context, finding, all);
        }
    }
}

/// Whether an order passes a bound nowhere that another passes.
fn keeps(right: &Analysis, breach: &Breach) -> bool {
    let of_bound = |other: &&Breach| {
        let place = |bound: &LimitBound| (bound.span, bound.bound_span);
        other.drug == breach.drug && place(&other.bound) == place(&breach.bound)
    };
    !right
        .judgement()
        .breaches
        .iter()
        .any(|other| of_bound(&other))
}

/// A bound, as the maximum of what sets the value that passes it.
struct Cap<'a> {
    /// What it would be on.
    on: &'a Size,
    /// Whether that is the drug in a bag.
    of_bag: bool,
    bound: &'a LimitBound,
    /// As it is written.
    text: &'a str,
}

impl PartialEq for Cap<'_> {
    fn eq(&self, other: &Self) -> bool {
        (self.on.span, self.text) == (other.on.span, other.text)
    }
}

impl<'a> Cap<'a> {
    fn of_breach(context: &OrderContext<'a>, breach: &'a Breach, values: &Values) -> Option<Self> {
        let bound = &breach.bound;
        let LimitForm::Size(form) = bound.form else {
            return None;
        };
        let of_drug = form.per == Per::Patient && form.drug().is_some();
        if !of_drug || bound.side == Side::Low || breach.is_of_every_patient(values) {
            return None;
        }
        let order = &context.analysis.order;
        let phase = order.phases.get(breach.reading.phase)?;
        let of_bag = match bound.measure {
            LimitMeasure::Dose => false,
            LimitMeasure::SingleDose | LimitMeasure::Total => true,
            _ => return None,
        };
        let on = if of_bag {
            match &phase.bag.as_ref()?.how {
                Preparation::MadeUpTo {
                    drug, cap: None, ..
                }
                | Preparation::AddedTo {
                    drug, cap: None, ..
                } => drug,
                _ => return None,
            }
        } else {
            let mut runs = phase.runs.iter();
            let run = runs.find(|run| run.span == breach.reading.span)?;
            let mut ways = run.ways.iter();
            let rate = ways.find_map(|way| match way {
                WaySpec::At(rate) => Some(rate),
                WaySpec::Over(_) => None,
            });
            rate.filter(|_| run.dose_cap.is_none())?
        };
        let place = context.workspace.place(breach.drug, bound.bound_span);
        (on.form.per != Per::Patient).then_some(Self {
            on,
            of_bag,
            bound,
            text: context.workspace.text_at(place),
        })
    }

    /// The order with it; `None` where nothing follows from that.
    fn written(&self, order: &Order) -> Option<Analysis> {
        let LimitForm::Size(form) = self.bound.form else {
            return None;
        };
        let maximum = Size {
            value: self.bound.bound.clone(),
            form,
            unit: self.bound.unit,
            decimals: 0,
            span: self.on.span,
        };
        let mut right = order.clone();
        for phase in &mut right.phases {
            match phase.bag.as_mut().map(|bag| &mut bag.how) {
                Some(
                    Preparation::MadeUpTo { drug, cap, .. }
                    | Preparation::AddedTo { drug, cap, .. },
                ) if drug.span == self.on.span => *cap = Some(maximum.clone()),
                _ => {}
            }
            let is_on =
                |way: &WaySpec| matches!(way, WaySpec::At(rate) if rate.span == self.on.span);
            for run in &mut phase.runs {
                if run.ways.iter().any(is_on) {
                    run.dose_cap = Some(maximum.clone());
                }
            }
        }
        let right = Analysis::of_order(right, &Patient::default());
        right.values.is_ok().then_some(right)
    }

    /// Adds it to what was found; `all`: with it, every limit is kept.
    fn offer(&self, context: &OrderContext<'_>, finding: &mut Finding, all: bool) {
        let Self { on, text, .. } = self;
        let keeps = if all {
            "keeps this limit"
        } else {
            "keeps this limit, but not every other"
        };
        let note = format!(
            "A maximum may have been left out: `, at most {text}` {keeps}. Check the source."
        );
        let comma = if self.of_bag { "," } else { "" };
        let with = format!("{}, at most {text}{comma}", context.text(on.span));
        finding.notes.push(note);
        finding.fixes.push(context.replace(on.span, with));
    }
}
