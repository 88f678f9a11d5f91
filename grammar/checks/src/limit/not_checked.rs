#![doc = include_str!("not_checked.md")]

use gutta_notation::Span;
use gutta_protocol::limits::Unknown;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::problem::{Problem, ProblemKind};

use crate::words::all_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.not-checked",
    severity: Severity::Error,
    locked: true,
    page: include_str!("not_checked.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    match &context.analysis.values {
        Err(incomplete) => findings.extend(incomplete_order(context, &incomplete.problems)),
        Ok(_) => {
            unchecked(context, findings);
            unweighed(context, findings);
        }
    }
}

/// An incomplete order has no values, so none of its limits was checked. What
/// another rule says of the same place is not said again; but an order whose
/// limits were skipped says so, once, at its head.
fn incomplete_order(context: &OrderContext<'_>, problems: &[Problem]) -> Vec<Finding> {
    let order = &context.analysis.order;
    let mut findings: Vec<_> = problems
        .iter()
        .filter_map(|problem| own(context, problem, problems))
        .collect();
    if findings.is_empty() && has_limits(order, problems) {
        let mut reasons: Vec<_> = problems
            .iter()
            .map(|problem| reason(context, problem))
            .collect();
        reasons.dedup();
        let shown = reasons.len().min(3);
        let more = if reasons.len() > shown {
            " and more"
        } else {
            ""
        };
        let message = format!(
            "No limit of this order was checked, and nothing is derived from it: {}{more}.",
            all_of(&reasons[..shown])
        );
        findings.push(
            context
                .finding(&RULE, order.header, message)
                .note("Mend the lines concerned; then it is checked."),
        );
    }
    findings
}

/// Whether there was any limit to check: the drug's or an area's, or a name
/// that may stand for a drug with limits.
fn has_limits(order: &Order, problems: &[Problem]) -> bool {
    let of_drug = order.drug.as_ref().is_some_and(|drug| {
        let drug = &drug.value;
        !drug.whole
            || !drug.limits.is_empty()
            || !drug.prohibitions.is_empty()
            || drug.only_by.is_some()
    });
    let unknown_drug = problems.iter().any(|problem| match &problem.kind {
        ProblemKind::Unresolved { kind, .. } | ProblemKind::LeansOn { kind, .. } => {
            *kind == "drug" || *kind == "area"
        }
        _ => false,
    });
    let of_area = gutta_protocol::limits::areas_in_force(order)
        .into_iter()
        .any(|area| {
            area.value.ceiling.is_some()
                || area.value.bolus_ceiling.is_some()
                || area.value.fluid.is_some()
        });
    of_drug || unknown_drug || of_area
}

/// A problem that no other rule speaks of.
fn own(context: &OrderContext<'_>, problem: &Problem, problems: &[Problem]) -> Option<Finding> {
    let message = match &problem.kind {
        ProblemKind::Missing { .. } => {
            let missing: Vec<_> = problems
                .iter()
                .filter_map(|problem| match problem.kind {
                    ProblemKind::Missing { what } => Some(what),
                    _ => None,
                })
                .collect();
            format!(
                "Nothing is derived from this order; missing: {}.",
                all_of(&missing)
            )
        }
        ProblemKind::NotComputable { what } => {
            format!("{} cannot be computed from these lines.", sentence(what))
        }
        ProblemKind::LeansOn { kind, name } => {
            format!(
                "The {kind} `{name}` has a line that could not be taken; nothing is derived from this order."
            )
        }
        _ => return None,
    };
    Some(
        context
            .finding(&RULE, problem.span, message)
            .note("Until then, no limit of this order is checked."),
    )
}

fn sentence(what: &str) -> String {
    crate::telling::sentence(what)
}

fn reason(context: &OrderContext<'_>, problem: &Problem) -> String {
    problem.kind.told(context.line_number(problem.span))
}

/// Limits of a complete order that could not be compared.
fn unchecked(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let mut seen: Vec<(Span, Span)> = Vec::new();
    for unchecked in &context.analysis.judgement().unchecked {
        if seen.contains(&(unchecked.span, unchecked.at)) {
            continue;
        }
        seen.push((unchecked.span, unchecked.at));
        let why = match unchecked.why {
            Unknown::Weight => "it is per kg, and the order states no patient weight",
            Unknown::Surface => "it is per m2, and the order states no body surface",
            Unknown::Equivalence => {
                "it counts the drug in another way than the bag, and no `equals` of the drug ties the two"
            }
            Unknown::Osmolarity => "the osmolarity of the drug or of the diluent is not stated",
            Unknown::NotComputable => "the value cannot be computed",
        };
        let message = format!(
            "A limit of {} was not checked here: {why}.",
            unchecked.measure.phrase()
        );
        let place = context.workspace.place(unchecked.drug, unchecked.span);
        findings.push(
            context
                .finding(&RULE, unchecked.at, message)
                .related(place, "the limit that was not checked")
                .note("Add what is missing; a limit that is not checked protects nobody."),
        );
    }
}

/// Limits for a band of weights or surfaces, and none stated.
fn unweighed(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    use gutta_protocol::limits::Asked;
    let judgement = context.analysis.judgement();
    for (asked, word) in [(Asked::Weight, "weight"), (Asked::Surface, "body surface")] {
        let mut concerned = judgement
            .unanswered
            .iter()
            .filter(|unanswered| unanswered.asked == asked)
            .peekable();
        if concerned.peek().is_none() {
            continue;
        }
        let message =
            format!("The order states no patient {word}, and a limit of the drug depends on it.");
        let mut finding = context.finding(&RULE, context.analysis.order.header, message);
        for unanswered in concerned {
            finding = finding.related(
                context.workspace.place(unanswered.drug, unanswered.span),
                "a limit that depends on it",
            );
        }
        findings.push(finding.note(format!(
            "Add a `patient {word}` line.",
            word = word.trim_start_matches("body ")
        )));
    }
}
