//! `waive RULE [of MEASURE up to|down to Q] because "…" [until DATE]`.

use gutta_notation::ast::{Waive, WaiveBound};
use gutta_notation::{Fact, Line};
use gutta_quantity::Quantity;

use crate::context::StanzaContext;
use crate::outcome::{Flaw, Lack, Outcome, Silenced};
use crate::registry::{rule, told};
use crate::{Finding, Rule};

/// A waiver that may silence findings of its rule.
struct Live<'a> {
    line: &'a Line,
    waive: &'a Waive,
    rule: &'static Rule,
    used: bool,
}

/// Silences what the stanza waives, and reports waivers that are wrong or
/// silence nothing.
pub(super) fn apply(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let mut live = Vec::new();
    let mut reports = Vec::new();
    for line in &context.stanza().lines {
        let Fact::Waive(waive) = &line.fact else {
            continue;
        };
        // An unknown rule is `name.unknown`'s; a line that is not whole has
        // its marks.
        let Some(rule) = rule(&waive.rule.value) else {
            continue;
        };
        let date = waive.until.as_ref().and_then(|until| until.value);
        let flaw = if rule.locked {
            Some(Flaw::Locked(rule))
        } else if let Some(lack) = lack(waive, rule, findings) {
            Some(Flaw::Lacks(lack))
        } else if let (Some(date), Some(today)) = (date, context.options.today)
            && date < today
        {
            Some(Flaw::Expired(date))
        } else {
            None
        };
        match flaw {
            Some(flaw) => reports.push(told(context, Outcome::Waiver(line, flaw))),
            None if line.whole => live.push(Live {
                line,
                waive,
                rule,
                used: false,
            }),
            None => {}
        }
    }
    findings.retain(|finding| !silence(finding, &mut live));
    let undecided =
        !context.stanza().is_whole() || findings.iter().any(|found| found.rule.hides_others());
    for waiver in live.iter().filter(|waiver| !waiver.used) {
        let left: Vec<_> = findings
            .iter()
            .filter(|finding| finding.rule.name == waiver.rule.name)
            .collect();
        let flaw = if left.iter().any(|finding| finding.locked) {
            Flaw::Locked(waiver.rule)
        } else if !undecided || !left.is_empty() {
            Flaw::Unused(waiver.rule, &left)
        } else {
            continue;
        };
        reports.push(told(context, Outcome::Waiver(waiver.line, flaw)));
    }
    findings.extend(reports);
}

/// What a waiver lacks to be one.
fn lack(waive: &Waive, rule: &Rule, findings: &[Finding]) -> Option<Lack> {
    let reason = waive
        .because
        .as_ref()
        .is_some_and(|reason| !reason.value.trim().is_empty());
    if !reason {
        return Some(Lack::Reason);
    }
    (rule.needs_bound() && waive.bound.is_none()).then(|| {
        let mut found = findings
            .iter()
            .filter(|finding| finding.rule.name == rule.name)
            .map(Silenced::by);
        let first = found.next().flatten();
        Lack::Bound(first.filter(|_| found.all(|other| other == first)))
    })
}

/// Whether the waivers together silence the finding: without a bound all of
/// it, with bounds each side on which it is out.
fn silence(finding: &Finding, live: &mut [Live<'_>]) -> bool {
    if finding.locked {
        return false;
    }
    let matching: Vec<_> = live
        .iter_mut()
        .filter(|waiver| waiver.rule.name == finding.rule.name)
        .collect();
    let extent = finding.extent.as_ref();
    let low = extent.and_then(|extent| extent.low.as_ref());
    let high = extent.and_then(|extent| extent.high.as_ref());
    let covers = |waiver: &Live<'_>, up: bool, value: Option<&Quantity>| {
        let Some(value) = value else { return false };
        waiver.waive.bound.as_ref().is_some_and(|bound| {
            bound.up == up
                && extent.is_some_and(|extent| extent.measure == bound.measure.value)
                && within(value, bound)
        })
    };
    let unbounded = |waiver: &Live<'_>| waiver.waive.bound.is_none();
    let any = |covered: &dyn Fn(&Live<'_>) -> bool| matching.iter().any(|waiver| covered(waiver));
    let low_done = low.is_none() || any(&|waiver| covers(waiver, false, low));
    let high_done = high.is_none() || any(&|waiver| covers(waiver, true, high));
    let by_bounds = (low.is_some() || high.is_some()) && low_done && high_done;
    if !by_bounds && !any(&unbounded) {
        return false;
    }
    for waiver in matching {
        if unbounded(waiver) || covers(waiver, false, low) || covers(waiver, true, high) {
            waiver.used = true;
        }
    }
    true
}

/// Whether the value does not pass the bound. Values of another kind are
/// beyond it: nothing is silenced that was not compared.
fn within(value: &Quantity, bound: &WaiveBound) -> bool {
    let Some(bounding) = bound.quantity.quantity() else {
        return false;
    };
    match value.compare(&bounding) {
        Some(order) if bound.up => order.is_le(),
        Some(order) => order.is_ge(),
        None => false,
    }
}

#[cfg(test)]
mod tests;
