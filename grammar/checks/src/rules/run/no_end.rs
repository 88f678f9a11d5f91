#![doc = include_str!("no_end.md")]

use gutta_notation::Fact;

use crate::lines::{insert_below, line_at};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.no-end",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("no_end.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Some(last) = context.analysis.order.phases.last() else {
        return;
    };
    let Some(run) = last.runs.last() else { return };
    // A line that was not read, or a `then` that could not be taken, has its
    // own finding: it may be what is missed here.
    let lines = &context.stanza().lines;
    let unread = lines.iter().any(|line| !line.whole);
    let stated = last.then.is_some()
        || lines
            .iter()
            .any(|line| matches!(line.fact, Fact::Then(_)) && line.span.start > last.span.start);
    if run.every.is_some() || stated || unread {
        return;
    }
    let below = line_at(context, run.span).map_or(run.span, |line| line.span);
    findings.push(
        context
            .finding(&RULE, below, "The order does not say what follows this run.")
            .note("Write `then stop`, `then renew` for the next bag or syringe, or `then keep open` with a fluid.")
            .fix(insert_below(context, below, "then       stop"))
            .fix(insert_below(context, below, "then       renew")),
    );
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn what_needs_no_end() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-course "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
  mix        1.5 g made up to 50 mL with saline
  run        all over 30 min every 8 h for 3 doses

order cefuroxime-push "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       syringe
  undiluted  15 mL
  bolus      1.5 g over 5 min
"#,
        );
    }

    #[test]
    fn the_last_run_of_the_last_phase() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-phases "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  phase      first
    run      100 mL over 1 h
  phase      second
    run      all over 4 h
    ^^^^^^^^^^^^^^^^^^^^^ run.no-end
"#,
        );
    }

    #[test]
    fn a_line_that_was_not_read_may_be_the_end() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-typo "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        all over 4 h
  then       sotp
             ^^^^ text.unreadable
"#,
        );
    }
}
