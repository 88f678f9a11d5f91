#![doc = include_str!("no_pump.md")]

use gutta_notation::Span;
use gutta_protocol::model::order::{Order, Phase};

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.no-pump",
    severity: Severity::Information,
    locked: false,
    page: include_str!("no_pump.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    if context.analysis.values.is_err() {
        return;
    }
    let order = &context.analysis.order;
    if let Some(phase) = order
        .phases
        .iter()
        .find(|phase| gives(phase) && is_bare(phase))
    {
        findings.push(
            context
                .finding(&RULE, head(order, phase), "No pump and no giving set is named, so the range and the steps of the flow were not checked.")
                .note("Name the pump here, in the area, or as the hospital's usual pump in `gutta.toml`."),
        );
    }
    silent_pumps(context, findings);
}

fn gives(phase: &Phase) -> bool {
    !phase.runs.is_empty() || !phase.boluses.is_empty()
}

fn is_bare(phase: &Phase) -> bool {
    phase.pump.is_none() && phase.giving_set.is_none()
}

fn head(order: &Order, phase: &Phase) -> Span {
    if phase.name.is_some() {
        phase.span
    } else {
        order.header
    }
}

/// A pump that does not say what it can run checks nothing either.
fn silent_pumps(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let mut seen = Vec::new();
    for phase in &order.phases {
        let Some(pump) = &phase.pump else { continue };
        let runs = (!phase.runs.is_empty() && pump.value.flows.is_empty())
            .then(|| (head(order, phase), "flow", "the flow"));
        let boluses = phase
            .boluses
            .first()
            .filter(|_| pump.value.bolus.is_none())
            .map(|bolus| (bolus.span, "bolus", "the flow of a bolus"));
        for (span, line, what) in runs.into_iter().chain(boluses) {
            if seen.contains(&(pump.id, line)) {
                continue;
            }
            seen.push((pump.id, line));
            let message = format!(
                "The pump `{}` has no `{line}` line, so {what} was not checked against it.",
                pump.name
            );
            let header = context.workspace.stanza(pump.id).header;
            findings.push(
                context
                    .finding(&RULE, span, message)
                    .related(context.workspace.place(pump.id, header), "the pump")
                    .note("State in the pump's stanza what it can run."),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn neither_pump_nor_giving_set() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-bag "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^ flow.no-pump: No pump and no giving set is named, so the range and the steps of the flow were not checked.
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
"#,
        );
    }

    #[test]
    fn a_pump_that_says_nothing() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump mute "Pump of unknown range"
  accuracy   5 %

order saline-bag "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^ flow.no-pump: The pump `mute` has no `flow` line
  route      peripheral vein
  pump       mute
  hang       1 L of saline
  bolus      50 mL over 10 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.no-pump: no `bolus` line
  run        all over 8 h
  then       stop
"#,
        );
    }
}
