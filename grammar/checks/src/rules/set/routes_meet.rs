#![doc = include_str!("routes_meet.md")]

use gutta_notation::ast::Route;
use gutta_protocol::sets::Member;

use super::together;
use crate::words::by_route;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.routes-meet",
    severity: Severity::Error,
    locked: true,
    page: include_str!("routes_meet.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    for (line, names) in &set.set.lines {
        for (place, second) in names.iter().enumerate() {
            let Some(other) = set.member(&second.value) else {
                continue;
            };
            let apart = names[..place].iter().find_map(|first| {
                let routes = apart(set.member(&first.value)?, other)?;
                Some((first, routes))
            });
            let Some((first, (route, of_other))) = apart else {
                continue;
            };
            let message = format!(
                "`{}` is given {} and `{}` {}, but both run through the line `{}`: one line cannot serve both routes.",
                first.value,
                by_route(route),
                second.value,
                by_route(of_other),
                line.value
            );
            findings.push(
                context
                    .finding(&RULE, second.span, message)
                    .related(context.place(first.span), "the order with the other route")
                    .note("Give each route a line of its own; or correct the route that is wrong."),
            );
        }
    }
}

/// Two routes of two orders that no one line leads to.
fn apart(one: &Member, other: &Member) -> Option<(Route, Route)> {
    let routes = |member: &Member| -> Vec<Route> {
        let phases = member.order.phases.iter();
        let named = phases.filter_map(|phase| phase.route.named());
        named.map(|route| route.value).collect()
    };
    let others = routes(other);
    routes(one).into_iter().find_map(|route| {
        let other = others.iter().find(|other| !is_one_place(route, **other))?;
        Some((route, *other))
    })
}

/// Whether one line can lead to both: to a vein by whichever way, or to the
/// same place.
fn is_one_place(one: Route, other: Route) -> bool {
    let is_vein = |route| {
        matches!(
            route,
            Route::CentralVein | Route::PeripheralVein | Route::UmbilicalVein | Route::Intraosseous
        )
    };
    one == other || is_vein(one) && is_vein(other)
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    fn assert_lines(lines: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

drug bupivacaine "Bupivacaine"
  supplied   250 mg in 100 mL
  with       saline

order bupivacaine-epidural "Bupivacaine, epidural"
  drug       bupivacaine
  route      epidural
  undiluted  100 mL
  run        all at 5 mL/h
  then       stop

order saline-vein "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop

order saline-central "Sodium chloride 0.9 %"
  route      central vein
  hang       1 L of saline
  run        all over 8 h
  then       stop

order feed "Water by tube"
  route      enteral
  hang       1 L of saline
  run        all over 10 h
  then       stop

set labour "Labour"
  include    bupivacaine-epidural, saline-vein, saline-central, feed
{lines}"#
        ));
    }

    #[test]
    fn an_epidural_and_a_vein() {
        assert_lines(
            "  line       one: saline-vein, bupivacaine-epidural
                               ^^^^^^^^^^^^^^^^^^^^ set.routes-meet: `saline-vein` is given by a peripheral vein and `bupivacaine-epidural` by the epidural route, but both run through the line `one`: one line cannot serve both routes.
  line       two: saline-central, feed
                                  ^^^^ set.routes-meet: `saline-central` is given by a central vein and `feed` by the enteral route, but both run through the line `two`: one line cannot serve both routes.
",
        );
    }

    #[test]
    fn two_veins_and_lines_of_their_own() {
        assert_lines(
            "  line       one: saline-vein, saline-central
  line       two: bupivacaine-epidural
  line       three: feed
",
        );
    }
}
