#![doc = include_str!("needs_drops.md")]

use gutta_protocol::model::problem::ProblemKind;

use crate::{Check, Finding, OrderContext, Rule, Severity, problems};

pub(crate) static RULE: Rule = Rule {
    name: "unit.needs-drops",
    severity: Severity::Error,
    locked: false,
    page: include_str!("needs_drops.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    for problem in problems::of_kind(context, |kind| *kind == ProblemKind::NeedsDrops) {
        let written = context.text(problem.span);
        // A set may be in force that does not say.
        let mute = order.phases.iter().find_map(|phase| {
            phase
                .giving_set
                .as_ref()
                .filter(|set| set.value.drops.is_none())
        });
        let finding = match mute {
            None => context
                .finding(
                    &RULE,
                    problem.span,
                    format!(
                        "`{written}` is a drip rate, and no giving set states the drops per mL."
                    ),
                )
                .note("Name the `giving-set`, here or in the area."),
            Some(set) => {
                let header = context.workspace.stanza(set.id).header;
                context
                    .finding(&RULE, problem.span, format!("`{written}` is a drip rate, and the giving set `{}` does not state the drops per mL.", set.name))
                    .related(context.workspace.place(set.id, header), "the giving set")
                    .note("State its `drops … per mL`.")
            }
        };
        findings.push(finding);
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn no_giving_set_and_one_that_does_not_say() {
        assert_findings(
            r#"
use "tarnwick.gtt"

giving-set mute "Giving set"
  priming    18 mL

order saline-bag "Saline"
  route      peripheral vein
  hang       500 mL of saline
  run        all at 40 drops/min
                    ^^^^^^^^^^^^ unit.needs-drops: no giving set
  then       stop

order saline-mute "Saline"
  route      peripheral vein
  giving-set mute
  hang       500 mL of saline
  run        all at 40 drops/min
                    ^^^^^^^^^^^^ unit.needs-drops: `40 drops/min` is a drip rate, and the giving set `mute` does not state the drops per mL.
  then       stop
"#,
        );
    }
}
