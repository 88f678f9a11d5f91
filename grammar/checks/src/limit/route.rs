#![doc = include_str!("route.md")]

use gutta_protocol::limits::ForbiddenWhat;

use crate::words::{any_of, quoted};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.route",
    severity: Severity::Error,
    locked: true,
    page: include_str!("route.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    for forbidden in &context.analysis.judgement().forbidden {
        let name = &drug.value.name;
        let (message, note) = match &forbidden.what {
            ForbiddenWhat::NotOnlyBy(route) => {
                let only: Vec<_> = drug
                    .value
                    .only_by
                    .iter()
                    .flat_map(|(routes, _)| routes)
                    .map(|route| route.phrase())
                    .collect();
                (
                    format!(
                        "{name} is given only by {}; this order allows {}.",
                        any_of(&only),
                        route.phrase()
                    ),
                    format!("Write one of {} after `route`.", any_of(&quoted(&only))),
                )
            }
            ForbiddenWhat::Route(route) => (
                format!(
                    "{name} is never given by {}, and this order allows it.",
                    route.phrase()
                ),
                "Give it by another route, or name the exception in the drug's own stanza."
                    .to_owned(),
            ),
            ForbiddenWhat::Area(area) => (
                format!("{name} is never given in {area}, and this order allows it."),
                "Name the area that it is meant for, or the exception in the drug's own stanza."
                    .to_owned(),
            ),
            ForbiddenWhat::Undiluted => (
                format!("{name} is never given undiluted, and this order gives it as supplied."),
                "Dilute it with `mix`, or name the exception in the drug's own stanza.".to_owned(),
            ),
        };
        let place = context.workspace.place(forbidden.drug, forbidden.limit);
        findings.push(
            context
                .finding(&RULE, forbidden.at, message)
                .related(place, "the drug's rule")
                .note(note),
        );
    }
}
