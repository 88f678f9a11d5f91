#![doc = include_str!("slip.md")]

mod candidates;

use gutta_protocol::derive::{Patient, derive};
use gutta_protocol::limits::{Breach, judge};
use gutta_protocol::model::limit::Side;
use gutta_protocol::model::order::Order;
use gutta_quantity::print::decimal_exact;

use self::candidates::{Candidate, Slot, candidates, slots};
use super::breach::worst;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.slip",
    severity: Severity::Error,
    locked: false,
    page: include_str!("slip.md"),
    check: Check::Order(check),
};

/// More explanations than this would explain nothing.
const MOST: usize = 3;

/// Only beside a breach: each number of the breaching line, and of the bag, is
/// set right in each way that is known, and the order judged again.
fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    if context.analysis.values.is_err() || context.analysis.judgement().breaches.is_empty() {
        return;
    }
    let mut explained = Vec::new();
    let slots = slots(order);
    for breach in worst(context, |_| true) {
        if !has_usual(order, breach) {
            continue;
        }
        let span = breach.reading.span;
        for slot in &slots {
            let concerned = slot.line == span || slot.of_bag;
            if !concerned || explained.contains(&slot.size.span) {
                continue;
            }
            let fitting: Vec<_> = candidates(order, slot)
                .into_iter()
                .filter(|candidate| candidate.text(slot).is_some() && fits(order, slot, candidate))
                .collect();
            if fitting.is_empty() || fitting.len() > MOST {
                continue;
            }
            explained.push(slot.size.span);
            findings.push(report(context, slot, &fitting));
        }
    }
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

/// Whether the order, with this one number set right, breaks no limit at all.
fn fits(order: &Order, slot: &Slot, candidate: &Candidate) -> bool {
    let Some(right) = slot.corrected(order, candidate) else {
        return false;
    };
    let Ok(values) = derive(&right, &Patient::default()) else {
        return false;
    };
    let judgement = judge(&right, &values);
    judgement.breaches.is_empty()
        && judgement.unchecked.is_empty()
        && judgement.unanswered.is_empty()
}

fn report(context: &OrderContext<'_>, slot: &Slot, fitting: &[Candidate]) -> Finding {
    let written = context.text(slot.size.span);
    let ways: Vec<_> = fitting
        .iter()
        .map(|candidate| {
            format!(
                "{} ({})",
                candidate.text(slot).unwrap_or_default(),
                candidate.slip
            )
        })
        .collect();
    let message = format!(
        "`{written}` would keep every limit as {}.",
        crate::words::any_of(&ways)
    );
    let mut finding = context
        .finding(&RULE, slot.size.span, message)
        .note("Compare with the source before it is changed.");
    for candidate in fitting {
        if let Some(text) = candidate.text(slot) {
            let mut fix = context.replace(slot.size.span, text.clone());
            fix.title = format!("write {text} instead of {written}");
            finding = finding.fix(fix);
        }
    }
    finding
}

impl Candidate {
    /// The quantity as it would be written; `None` where its decimals do not
    /// end.
    fn text(&self, slot: &Slot) -> Option<String> {
        let value =
            gutta_quantity::Quantity::from_base(slot.size.value.clone(), slot.size.unit).value;
        let value = &value * &self.factor;
        Some(format!(
            "{} {}",
            decimal_exact(&value)?,
            self.unit.after(&value)
        ))
    }
}
