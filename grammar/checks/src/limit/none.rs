#![doc = include_str!("none.md")]

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
    let Some(drug) = order
        .drug
        .as_ref()
        .filter(|_| order.high_alert && context.analysis.values.is_ok())
    else {
        return;
    };
    let judgement = context.analysis.judgement();
    // That only limits of loads are left is `limit.as-load`'s.
    let nothing = judgement.applied == 0
        && judgement.unanswered.is_empty()
        && judgement.unchecked.is_empty()
        && judgement.as_loads.is_empty();
    if nothing {
        let name = &drug.value.name;
        let message =
            format!("{name} is a high-alert drug, and no limit of it applies to this order.");
        let place = context
            .workspace
            .place(drug.id, context.workspace.stanza(drug.id).header);
        findings.push(
            context
                .finding(&RULE, drug.span.unwrap_or(order.header), message)
                .related(place, "the drug's stanza")
                .note("State a `usual` or a `never` for this route, area, purpose and form in the drug's stanza."),
        );
    }
}
