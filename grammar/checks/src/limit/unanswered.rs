#![doc = include_str!("unanswered.md")]

use gutta_notation::ast::Route;
use gutta_protocol::limits::{Asked, areas_in_force};
use gutta_protocol::model::order::Answer;

use crate::lines::insert_below;
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.unanswered",
    severity: Severity::Error,
    locked: true,
    page: include_str!("unanswered.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let judgement = context.analysis.judgement();
    let mut asked: Vec<&Asked> = judgement
        .unanswered
        .iter()
        .map(|unanswered| &unanswered.asked)
        .collect();
    asked.sort();
    asked.dedup();
    for asked in asked {
        let Some((message, fixes)) = ask(context, asked) else {
            continue;
        };
        let mut finding = context.finding(&RULE, context.analysis.order.header, message);
        for unanswered in judgement
            .unanswered
            .iter()
            .filter(|unanswered| unanswered.asked == *asked)
        {
            let place = context.workspace.place(unanswered.drug, unanswered.span);
            finding = finding.related(place, "a limit that asks for it");
        }
        finding.fixes = fixes;
        findings
            .push(finding.note("Until the order says, the strictest reading of the limit holds."));
    }
    if !judgement
        .unanswered
        .iter()
        .any(|unanswered| unanswered.asked == Asked::Area)
    {
        findings.extend(area_bounds(context));
    }
}

/// A weight or surface that is not stated is `limit.not-checked`'s.
fn ask(context: &OrderContext<'_>, asked: &Asked) -> Option<(String, Vec<Fix>)> {
    let drug = context.analysis.order.drug.as_ref()?;
    let name = &drug.value.name;
    let insert = |text: String| insert(context, &text);
    Some(match asked {
        Asked::Route => {
            let only = drug
                .value
                .only_by
                .as_ref()
                .map_or(Route::ALL.as_slice(), |(routes, _)| routes.as_slice());
            (
                format!(
                    "The order does not say by which route {name} is given, and a limit of the drug depends on it."
                ),
                only.iter()
                    .map(|route| insert(format!("route      {}", route.phrase())))
                    .collect(),
            )
        }
        Asked::Area => (
            format!(
                "The order does not say in which area {name} is given, and a limit of the drug depends on it."
            ),
            areas(context),
        ),
        Asked::Age => (
            format!(
                "The order does not say how old the patients are, and a limit of {name} depends on it."
            ),
            Vec::new(),
        ),
        Asked::Purpose(purpose) => (
            format!(
                "The order does not say what it is for, and a limit of {name} holds for one purpose ({purpose})."
            ),
            vec![insert(format!("purpose    {purpose}"))],
        ),
        Asked::Weight | Asked::Surface => return None,
    })
}

/// A ceiling, bolus ceiling or fluid bound in scope, and no area named.
fn area_bounds(context: &OrderContext<'_>) -> Option<Finding> {
    let order = &context.analysis.order;
    let unanswered = matches!(order.area, Answer::Unanswered) && context.analysis.values.is_ok();
    if !unanswered {
        return None;
    }
    let bounding: Vec<_> = areas_in_force(order)
        .into_iter()
        .filter(|area| {
            area.value.ceiling.is_some()
                || area.value.bolus_ceiling.is_some()
                || area.value.fluid.is_some()
        })
        .collect();
    let first = bounding.first()?;
    let message = "The order does not say for which area it is, and areas in scope set a ceiling or a bound on fluid.";
    let mut finding = context
        .finding(&RULE, order.header, message)
        .related(
            context
                .workspace
                .place(first.id, context.workspace.stanza(first.id).header),
            "an area with such a bound",
        )
        .note("Until the order says, the strictest of them holds.");
    finding.fixes = areas(context);
    Some(finding)
}

fn areas(context: &OrderContext<'_>) -> Vec<Fix> {
    let order = &context.analysis.order;
    order
        .areas_in_scope
        .iter()
        .map(|area| insert(context, &format!("area       {}", area.name)))
        .collect()
}

/// Inserts a line below the header.
fn insert(context: &OrderContext<'_>, line: &str) -> Fix {
    insert_below(context, context.analysis.order.header, line)
}
