#![doc = include_str!("unanswered.md")]

use gutta_notation::StanzaKind;
use gutta_notation::ast::Route;
use gutta_protocol::limits::{OpenCondition, areas_in_force};
use gutta_protocol::model::limit::Prohibited;
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
    let all = context.unanswered();
    let mut asked: Vec<&OpenCondition> = all.iter().map(|unanswered| &unanswered.asked).collect();
    asked.sort();
    asked.dedup();
    for asked in asked {
        let Some((message, fixes)) = ask(context, asked) else {
            continue;
        };
        let mut finding = context.finding(&RULE, context.analysis.order.header, message);
        for unanswered in all.iter().filter(|open| open.asked == *asked) {
            let place = context.workspace.place(unanswered.drug, unanswered.span);
            finding = finding.related(place, "a limit that depends on it");
        }
        finding.fixes = fixes;
        let mut note =
            "Until the order states it, the strictest reading of the limit applies.".to_owned();
        if *asked == OpenCondition::Route {
            note.push_str(" Take the route from the source");
            note.push_str(if finding.fixes.is_empty() {
                "."
            } else {
                ", not from this list."
            });
        }
        findings.push(finding.note(note));
    }
    if !all.iter().any(|open| open.asked == OpenCondition::Area) {
        findings.extend(area_bounds(context));
    }
}

/// A weight or surface that is not stated is `limit.not-checked`'s.
fn ask(context: &OrderContext<'_>, asked: &OpenCondition) -> Option<(String, Vec<Fix>)> {
    // What the limit is of: the drug, or a substance that the order brings.
    let mut stanzas = context.unanswered().into_iter();
    let of = stanzas.find(|open| open.asked == *asked)?.drug;
    let name = context.workspace.stanza(of).name.as_ref()?.value.as_str();
    let what = match context.workspace.stanza(of).kind {
        StanzaKind::Ingredient => "it",
        _ => "the drug",
    };
    let insert = |text: String| insert(context, &text);
    Some(match asked {
        OpenCondition::Route => (
            format!(
                "The order does not state by which route {name} is given, and a limit of {what} depends on it."
            ),
            routes(context)
                .into_iter()
                .map(|route| insert(format!("route      {}", route.phrase())))
                .collect(),
        ),
        OpenCondition::Area => (
            format!(
                "The order does not state in which area {name} is given, and a limit of {what} depends on it."
            ),
            areas(context),
        ),
        OpenCondition::Age => (
            format!(
                "The order does not state the age of the patients, and a limit of {name} depends on it."
            ),
            Vec::new(),
        ),
        OpenCondition::Purpose(purpose) => (
            format!(
                "The order does not state its purpose, and a limit of {name} is for one purpose only ({purpose})."
            ),
            vec![insert(format!("purpose    {purpose}"))],
        ),
        OpenCondition::Weight | OpenCondition::Surface => return None,
    })
}

/// The routes of the drug's `only by`, else those that the limits name which
/// ask; none that the drug forbids anywhere. Any other would be a guess.
fn routes(context: &OrderContext<'_>) -> Vec<Route> {
    let drug = context.analysis.order.drug.as_ref();
    let mut routes = match drug.and_then(|drug| drug.value.only_by.as_ref()) {
        Some((only, _)) => only.clone(),
        None => named(context),
    };
    routes.retain(|route| {
        let mut nevers = drug.into_iter().flat_map(|drug| &drug.value.prohibitions);
        !nevers.any(
            |never| matches!(&never.what, Prohibited::Routes(routes) if routes.contains(route)),
        )
    });
    routes.sort_by_key(|route| Route::ALL.iter().position(|one| one == route));
    routes.dedup();
    routes
}

/// The routes that the limits name which ask for one.
fn named(context: &OrderContext<'_>) -> Vec<Route> {
    let mut routes = Vec::new();
    for open in context.unanswered() {
        if open.asked != OpenCondition::Route {
            continue;
        }
        let limits = context.library.limits(open.drug).unwrap_or_default();
        let bounds = limits
            .iter()
            .map(|bound| (bound.span, &bound.when, &bound.except));
        let drug = context.library.drug(open.drug);
        let prohibitions = drug.into_iter().flat_map(|drug| &drug.prohibitions);
        let prohibitions = prohibitions.map(|never| (never.span, &never.when, &never.except));
        let asking = bounds
            .chain(prohibitions)
            .filter(|(span, ..)| *span == open.span);
        let conditions = asking.flat_map(|(_, when, except)| std::iter::once(when).chain(except));
        routes.extend(conditions.flat_map(|when| when.routes.iter().copied()));
    }
    routes
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
    let message = "The order does not state its area, and an area that it can see has a ceiling or a fluid limit.";
    let mut finding = context
        .finding(&RULE, order.header, message)
        .related(
            context
                .workspace
                .place(first.id, context.workspace.stanza(first.id).header),
            "an area with such a limit",
        )
        .note("Until the order states it, the strictest of them applies.");
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

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// The note and the fixes for an order without a route, of a drug with
    /// these limits.
    fn asked(limits: &str) -> (String, Vec<String>) {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
{limits}

order a "A"
  drug       limitamine
  area       ward
  mix        40 mg made up to 40 mL with saline
  run        all at 2 mg/h
  then       renew
"#
        );
        let mut found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "limit.unanswered")
            .unwrap();
        let fixes = found.fixes.into_iter().map(|fix| fix.title);
        (found.notes.remove(0), fixes.collect())
    }

    #[test]
    fn only_routes_that_the_drug_names_are_offered() {
        for (limits, offered) in [
            (
                "  only by central vein, intraosseous\n  never dose above 5 mg/h by epidural",
                &["central vein", "intraosseous"] as &[_],
            ),
            (
                "  never dose above 5 mg/h by peripheral vein, subcutaneous",
                &["peripheral vein", "subcutaneous"],
            ),
            (
                "  never dose above 5 mg/h except by central vein",
                &["central vein"],
            ),
            (
                "  never dose above 5 mg/h by intrathecal, central vein\n  never by intrathecal",
                &["central vein"],
            ),
        ] {
            let (note, fixes) = asked(limits);
            let wanted = |route| format!("insert `route      {route}`");
            assert_eq!(fixes, offered.iter().map(wanted).collect::<Vec<_>>());
            assert!(note.ends_with("Take the route from the source, not from this list."));
        }
    }

    #[test]
    fn what_is_never_to_be_is_not_offered() {
        let (note, fixes) = asked("  never by intrathecal");
        assert_eq!(fixes, [""; 0]);
        assert!(note.ends_with("Take the route from the source."), "{note}");
    }
}
