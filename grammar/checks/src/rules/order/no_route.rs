#![doc = include_str!("no_route.md")]

use gutta_notation::Span;
use gutta_protocol::limits::OpenCondition;
use gutta_protocol::model::order::{Answer, Phase};

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "order.no-route",
    severity: Severity::Warning,
    locked: true,
    page: include_str!("no_route.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let open = |phase: &&Phase| matches!(phase.route, Answer::Unanswered);
    // A line that was not read has its own finding: it may be the route.
    let unread = context.stanza().lines.iter().any(|line| !line.whole);
    // Where a limit asks for the route, `limit.unanswered` tells of it.
    let asked = context
        .unanswered()
        .iter()
        .any(|unanswered| unanswered.asked == OpenCondition::Route);
    if unread || asked {
        return;
    }
    if order.phases.iter().all(|phase| open(&phase)) {
        findings.push(finding(
            context,
            order.header,
            "The order does not state by which route it is given.".to_owned(),
        ));
        return;
    }
    findings.extend(order.phases.iter().filter(open).map(|phase| {
        let name = phase.name.as_ref();
        let name = name.map_or_else(String::new, |name| format!(" `{name}`"));
        let message = format!("The phase{name} does not state by which route it is given.");
        finding(context, phase.span, message)
    }));
}

fn finding(context: &OrderContext<'_>, at: Span, message: String) -> Finding {
    context.finding(&RULE, at, message).note(
        "Write the route that the source states, such as `route peripheral vein`; `route any` only if it may be given by any route: the strictest limits then apply.",
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_drug_and_a_plain_fluid_alike() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-short "Cefuroxime"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ order.no-route: The order does not state by which route it is given.
  drug       cefuroxime
  area       ward
  mix        1.5 g made up to 50 mL with saline
  run        all over 30 min
  then       stop

order saline-slow "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^ order.no-route: Write the route that the source states, such as `route peripheral vein`; `route any` only if it may be given by any route: the strictest limits then apply.
  area       ward
  hang       500 mL of saline
  run        all over 6 h
  then       stop

order saline-any "Saline"
  area       ward
  route      any
  hang       500 mL of saline
  run        all over 6 h
  then       stop
"#,
        );
    }

    #[test]
    fn a_line_above_holds_for_every_phase_and_one_of_a_phase_for_itself() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-above "Saline"
  area       ward
  route      peripheral vein
  hang       500 mL of saline
  phase      first
    run      100 mL over 1 h
  phase      second
    route    central vein
    run      all over 4 h
  then       stop

order saline-one "Saline"
  area       ward
  hang       500 mL of saline
  phase      first
    route    peripheral vein
    run      100 mL over 1 h
  phase      second
  ^^^^^^^^^^^^^^^^^ order.no-route: The phase `second` does not state by which route it is given.
    run      all over 4 h
  then       stop

order saline-neither "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ order.no-route: The order does not state by which route it is given.
  area       ward
  hang       500 mL of saline
  phase      first
    run      100 mL over 1 h
  phase      second
    run      all over 4 h
  then       stop
"#,
        );
    }

    #[test]
    fn one_cause_is_told_once() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  never by   intrathecal

order limitamine-steady "By no route"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unanswered: The order does not state by which route limitamine is given, and a limit of the drug depends on it.
  drug       limitamine
  area       ward
  mix        40 mg made up to 40 mL with saline
  run        all at 2 mg/h
  then       renew

order saline-typo "Saline"
  area       ward
  rout       peripheral vein
  ^^^^ text.unreadable
  hang       500 mL of saline
  run        all over 6 h
  then       stop
"#,
        );
    }

    #[test]
    fn the_line_of_a_set_is_no_route() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-slow "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^^ order.no-route
  area       ward
  hang       500 mL of saline
  run        all over 6 h
  then       stop

set saline-alone "Saline alone"
  area       ward
  include    saline-slow
  line       proximal: saline-slow
"#,
        );
    }

    #[test]
    fn a_specimen_shows_it() {
        assert_findings(
            r#"
use "tarnwick.gtt"

specimen saline-caught "Saline"
  area       ward
  hang       500 mL of saline
  run        all over 6 h
  then       stop
  expect finding order.no-route
"#,
        );
    }
}
