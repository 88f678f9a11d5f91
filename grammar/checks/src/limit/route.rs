#![doc = include_str!("route.md")]

use gutta_protocol::limits::ForbiddenWhat;
use gutta_protocol::model::order::Answer;

use crate::words::any_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.route",
    severity: Severity::Error,
    locked: true,
    page: include_str!("route.md"),
    check: Check::Order(check),
};

/// To pick a route from those allowed would be to guess.
const WHICH_ROUTE: &str = "Do not use this order. Find out which route, or which drug, is meant; only then correct the line.";

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    for forbidden in &context.analysis.judgement().forbidden {
        let name = &drug.value.name;
        let any = order
            .phases
            .iter()
            .any(|phase| phase.route == Answer::Any(forbidden.at));
        let (message, note) = match &forbidden.what {
            ForbiddenWhat::NotOnlyBy(route) => {
                let only: Vec<_> = drug
                    .value
                    .only_by
                    .iter()
                    .flat_map(|(routes, _)| routes)
                    .map(|route| route.phrase())
                    .collect();
                let given = if any {
                    "allows any route, and so "
                } else {
                    "gives it by "
                };
                (
                    format!(
                        "{name} is given only by {}; this order {given}{}.",
                        any_of(&only),
                        route.phrase()
                    ),
                    WHICH_ROUTE,
                )
            }
            ForbiddenWhat::Route(route) => (
                format!(
                    "{name} is never given by {}; this order {}.",
                    route.phrase(),
                    if any {
                        "allows any route"
                    } else {
                        "gives it so"
                    }
                ),
                WHICH_ROUTE,
            ),
            ForbiddenWhat::Area(area) => (
                format!("{name} is never given in `{area}`, and this order allows it."),
                "Name the area that it is meant for, or the exception in the drug's own stanza.",
            ),
            ForbiddenWhat::Undiluted => (
                format!("{name} is never given undiluted, and this order gives it as supplied."),
                "Dilute it with `mix`, or name the exception in the drug's own stanza.",
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

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// What is said of an order with this route, of a drug with this rule.
    fn said(rule: &str, route: &str) -> String {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug"
  {rule}

order a "A"
  drug       limitamine
  route      {route}
  premixed   2 mg in 50 mL of saline
  run        all over 10 min
  then       stop
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "limit.route")
            .unwrap();
        assert!(found.fixes.is_empty());
        assert!(found.notes[0].starts_with("Do not use this order."));
        found.message
    }

    #[test]
    fn a_route_named_and_any() {
        let only = "only by central vein, peripheral vein";
        assert_eq!(
            said(only, "intrathecal"),
            "limitamine is given only by central vein or peripheral vein; this order gives it by intrathecal."
        );
        assert_eq!(
            said(only, "any"),
            "limitamine is given only by central vein or peripheral vein; this order allows any route, and so umbilical vein."
        );
        let never = "never by intrathecal";
        assert_eq!(
            said(never, "intrathecal"),
            "limitamine is never given by intrathecal; this order gives it so."
        );
        assert_eq!(
            said(never, "any"),
            "limitamine is never given by intrathecal; this order allows any route."
        );
    }
}
