#![doc = include_str!("slip.md")]

mod bags;
mod candidates;
mod fits;
mod trials;
mod weights;

use gutta_notation::Span;

use self::candidates::Candidate;
use self::fits::{Explained, Fit, explained};
use crate::as_if::AsIf;
use crate::slips::BESIDE;
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity, TextEdit};

pub(crate) static RULE: Rule = Rule {
    name: "limit.slip",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("slip.md"),
    check: Check::Search(check),
};

/// What is said of every slip.
const NOTE: &str = "A value within the limits is not necessarily right. Check the source before anything is changed.";

/// Only beside a breach: each number of the breaching line, and of the bag, is
/// set right in each way that is known, and the order judged again.
fn check(context: &OrderContext<'_>, rules: &'static [&'static Rule], findings: &mut Vec<Finding>) {
    let as_if = AsIf { context, rules };
    weights::check(&as_if, findings);
    let all = explained(&as_if);
    let mended = all.iter().map(Explained::mended);
    // A stanza is searched once.
    let _ = context.mended.set(mended.collect());
    for explained in &all {
        findings.push(report(context, explained));
    }
    // A maximum that was left out is a slip, too, and told beside the breach.
    super::lost_lid::offer(context, findings);
}

fn report(context: &OrderContext<'_>, explained: &Explained) -> Finding {
    let Explained {
        line,
        usual,
        first,
        others,
    } = explained;
    let slot = &first.slot;
    let fitting = || std::iter::once(first).chain(others);
    let written = context.text(slot.span);
    let way = |fit: &Fit| {
        let Candidate { told, slip, .. } = &fit.candidate;
        if fit.slot.span == slot.span {
            format!("by `{told}` ({slip})")
        } else {
            format!("by `{told}` for `{}` ({slip})", context.text(fit.slot.span))
        }
    };
    let ways: Vec<_> = fitting().map(way).collect();
    let message = format!(
        "Likely slip in `{written}`: every limit would be kept {}.",
        crate::words::any_of(&ways)
    );
    let mut finding = context
        .finding(&RULE, slot.span, message)
        .related(context.place(*line), BESIDE)
        .note(NOTE);
    for fit in fitting().filter(|fit| !fit.raises) {
        finding = finding.fix(fix(context, fit));
    }
    // It weighs no more than what it explains.
    if fitting().all(|fit| fit.raises) {
        finding = finding.severity(Severity::Information);
    } else if !usual {
        finding = finding.severity(Severity::Error);
    }
    finding
}

fn fix(context: &OrderContext<'_>, fit: &Fit) -> Fix {
    let told = &fit.candidate.told;
    let written = context.text(fit.slot.span);
    let mut title = format!("write {told} instead of {written}");
    if let Some(change) = &fit.doses {
        title.push_str(&format!(": {change}"));
    }
    let mut fix = context
        .replace(fit.slot.span, told.to_string())
        .titled(title);
    if fit.candidate.unit != fit.slot.unit {
        let others = fit.slot.sharing(&context.analysis.order).into_iter();
        for span in others.filter(|span| *span != fit.slot.span) {
            fix.edits.extend(unit_edits(context, span, &told.unit));
        }
    }
    fix.doses = fit.doses.clone();
    fix
}

/// Writes the unit behind the number at `span`, if one stands there.
fn unit_edits(context: &OrderContext<'_>, span: Span, unit: &str) -> Vec<TextEdit> {
    let written = context.text(span);
    let Some((number, old)) = written.rsplit_once(' ') else {
        return Vec::new();
    };
    // In groups by blanks, what stands behind the last one may be a number.
    if old.starts_with(|c: char| c.is_ascii_digit()) {
        return Vec::new();
    }
    context.replace(span, format!("{number} {unit}")).edits
}

#[cfg(test)]
mod tests;
