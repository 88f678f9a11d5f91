#![doc = include_str!("none.md")]

use std::collections::BTreeSet;

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.none",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("none.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    let named = &drug.value;
    let states_limits = order.high_alert || !named.limits.is_empty();
    if context.analysis.values.is_err() || !states_limits {
        return;
    }
    let judgement = context.analysis.judgement();
    if !(judgement.unanswered.is_empty() && judgement.unchecked.is_empty()) {
        return;
    }
    let place = context
        .workspace
        .place(drug.id, context.workspace.stanza(drug.id).header);
    let name = &named.name;
    // That only limits of loads are left is `limit.as-load`'s.
    if judgement.applied == 0 && judgement.as_loads.is_empty() {
        let message = match order.high_alert {
            true => {
                format!("{name} is a high-alert drug, and no limit of it applies to this order.")
            }
            false => format!("No limit of {name} applies to this order."),
        };
        let found = context.finding(&RULE, drug.span.unwrap_or(order.header), message);
        findings.push(found.related(place, "the drug's stanza").note(
            "State a `usual` or a `never` for this route, area, purpose and form in the drug's stanza.",
        ));
        return;
    }
    let spans: BTreeSet<_> = judgement.unjudged.iter().map(|run| run.at).collect();
    for span in spans {
        let message = format!("No limit of {name} says how much this run may give, or how fast.");
        let found = context.finding(&RULE, span, message);
        findings.push(found.related(place, "the drug's stanza").note(
            "State a `dose`, `single dose`, `flow`, `time` or `total` for this route, area, purpose and patient in the drug's stanza.",
        ));
    }
}
