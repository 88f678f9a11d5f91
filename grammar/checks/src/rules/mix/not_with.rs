#![doc = include_str!("not_with.md")]

use gutta_notation::StanzaKind;
use gutta_protocol::Resolved;

use crate::words::any_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.not-with",
    severity: Severity::Error,
    locked: false,
    page: include_str!("not_with.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    let own = &drug.value;
    for bag in order.phases.iter().filter_map(|phase| phase.bag.as_ref()) {
        let Some(solution) = &bag.solution else {
            continue;
        };
        let holds_drug = !matches!(
            bag.how,
            gutta_protocol::model::order::Preparation::Fluid { .. }
        );
        if !holds_drug {
            continue;
        }
        let (name, span) = (&solution.name, solution.span.unwrap_or(bag.span));
        if own.not_with.contains(name) {
            let place = context
                .workspace
                .place(drug.id, own.not_with_span.unwrap_or_default());
            findings.push(
                context
                    .finding(
                        &RULE,
                        span,
                        format!("{} is not compatible with {name}.", own.name),
                    )
                    .related(place, "the drug's rule")
                    .note("Choose another diluent."),
            );
            continue;
        }
        match &own.with {
            Some((with, _)) if with.contains(name) => {}
            Some((with, with_span)) => {
                // What it may meet in a line is no diluent.
                let mut diluents = with.clone();
                diluents.retain(|name| {
                    let kind = StanzaKind::Drug;
                    context.workspace.resolve(drug.id.file, kind, name) == Resolved::None
                });
                let message = format!(
                    "{name} is not listed as a diluent for {}; listed: {}.",
                    own.name,
                    any_of(&diluents)
                );
                findings.push(
                    context
                        .finding(&RULE, span, message)
                        .related(context.workspace.place(drug.id, *with_span), "the diluents listed for the drug")
                        .note("Choose one of these, or add the diluent to the drug's `with` once its source says so."),
                );
            }
            None => {
                let place = context
                    .workspace
                    .place(drug.id, context.workspace.stanza(drug.id).header);
                findings.push(
                    context
                        .finding(
                            &RULE,
                            span,
                            format!("{} and {name} are not known to be compatible.", own.name),
                        )
                        .severity(Severity::Information)
                        .related(place, "the drug has no `with` line")
                        .note("Add `with` to the drug, from its source."),
                );
            }
        }
    }
}
