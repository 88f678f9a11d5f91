#![doc = include_str!("route.md")]

use gutta_protocol::limits::ForbiddenWhat;
use gutta_protocol::model::order::Answer;

use crate::words::{any_of, by_route};
use crate::{Check, Finding, OrderContext, Rule, Severity, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.route",
    severity: Severity::Error,
    locked: true,
    page: include_str!("route.md"),
    check: Check::Order(check),
};

/// To pick a route from those allowed would be to guess.
const WHICH_ROUTE: &str = "Do not use this order. Find out which route or which drug is meant; only then correct the line.";

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
                    .map(|route| by_route(*route))
                    .collect();
                let given = if any {
                    "allows any route, so it can be given "
                } else {
                    "gives it "
                };
                (
                    format!(
                        "{name} is given only {}; this order {given}{}.",
                        any_of(&only),
                        by_route(*route)
                    ),
                    WHICH_ROUTE,
                )
            }
            ForbiddenWhat::Route(route) => (
                format!(
                    "{name} is never given {}; this order {}.",
                    by_route(*route),
                    if any { "allows any route" } else { "does so" }
                ),
                WHICH_ROUTE,
            ),
            ForbiddenWhat::Area(area) => (
                format!("{name} is never given in `{area}`, and this order allows it."),
                "Name the area that it is meant for, or state the exception in the drug's own stanza.",
            ),
            ForbiddenWhat::Undiluted => (
                format!("{name} is never given undiluted, and this order gives it as supplied."),
                "Dilute it with `mix`, or state the exception in the drug's own stanza.",
            ),
            ForbiddenWhat::NoDiluent { view, at } => (
                no_diluent(context, name, *view, at),
                "Make it up to a larger volume, or use less of the drug: check in the source which is meant.",
            ),
        };
        // Another view of the same bag says nothing new.
        let mut told = findings.iter().filter(|told| told.rule.name == RULE.name);
        if matches!(forbidden.what, ForbiddenWhat::NoDiluent { .. })
            && told.any(|told| told.place == context.place(forbidden.at))
        {
            continue;
        }
        let place = context.workspace.place(forbidden.drug, forbidden.limit);
        findings.push(
            context
                .finding(&RULE, forbidden.at, message)
                .related(place, "the drug's rule")
                .note(note),
        );
    }
}

/// That the drug alone fills its bag, and for whom.
fn no_diluent(
    context: &OrderContext<'_>,
    name: &str,
    view: usize,
    at: &gutta_quantity::Exact,
) -> String {
    let values = context.analysis.values.as_ref().ok();
    let view = values.and_then(|values| values.views.get(view));
    let depends = view.filter(|view| {
        let mut bags = view
            .phases
            .iter()
            .filter_map(|phase| phase.bag.diluent.as_ref());
        bags.any(|diluent| diluent.is_constant().is_none())
    });
    let whom = depends.and_then(|view| telling::patient(view, at, context.style()));
    let whom = whom.map_or_else(String::new, |whom| format!(" at {whom}"));
    format!(
        "{name} is never given undiluted, and{whom} the drug by itself fills this bag, with no room for diluent."
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    #[test]
    fn a_mixture_without_a_diluent_is_undiluted() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug dilutamine "A drug to be diluted"
  dosed in   mg/h
  supplied   1 mg in 1 mL
  with       saline
  never undiluted

order dilutamine-full "Dilutamine"
  drug       dilutamine
  route      central vein
  pump       syringe
  mix        50 mL made up to 50 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.route: dilutamine is never given undiluted, and the drug by itself fills this bag, with no room for diluent.
  run        all at 2 mg/h
  then       renew

order dilutamine-by-weight "Dilutamine"
  drug       dilutamine
  patient    weight 40 to 50 kg
  route      central vein
  pump       syringe
  mix        1 mg/kg made up to 50 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.route: dilutamine is never given undiluted, and at 50 kg the drug by itself fills this bag, with no room for diluent.
  run        all at 2 mg/h
  then       renew

order dilutamine-diluted "Dilutamine"
  drug       dilutamine
  route      central vein
  pump       syringe
  mix        49 mL made up to 50 mL with saline
  run        all at 2 mg/h
  then       renew
"#,
        );
    }

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
            "limitamine is given only by a central vein or by a peripheral vein; this order gives it by the intrathecal route."
        );
        assert_eq!(
            said(only, "any"),
            "limitamine is given only by a central vein or by a peripheral vein; this order allows any route, so it can be given by an umbilical vein."
        );
        let never = "never by intrathecal";
        assert_eq!(
            said(never, "intrathecal"),
            "limitamine is never given by the intrathecal route; this order does so."
        );
        assert_eq!(
            said(never, "any"),
            "limitamine is never given by the intrathecal route; this order allows any route."
        );
    }
}
