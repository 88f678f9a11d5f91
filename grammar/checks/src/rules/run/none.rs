#![doc = include_str!("none.md")]

use gutta_notation::lines::Reach;
use gutta_notation::{Fact, Line, Span};
use gutta_protocol::delivery::Source;
use gutta_protocol::derive::{Action, At};
use gutta_protocol::model::order::{Phase, ThenSpec};
use rustc_hash::FxHashSet;

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.none",
    severity: Severity::Error,
    locked: false,
    page: include_str!("none.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let lines = &context.stanza().lines;
    // A line that was not read or could not be taken has its own finding: it
    // may be what is missed.
    if context.analysis.values.is_err() || lines.iter().any(|line| !line.whole) {
        return;
    }
    findings.extend(overridden(lines).into_iter().map(|line| {
        let keyword = context.text(line.keyword);
        context
            .finding(&RULE, line.span, format!("This `{keyword}` is never used: every phase to which it could apply has its own."))
            .note("A line above the first `phase` applies to phases that have none of their own. If a `phase` line is missing, write it again; otherwise remove this line.")
    }));
    let phases = &context.analysis.order.phases;
    let hung: Vec<usize> = (0..phases.len())
        .filter(|place| phases.get(*place).is_some_and(|phase| phase.bag.is_some()))
        .collect();
    for (index, start) in hung.iter().enumerate() {
        let end = hung.get(index + 1).copied().unwrap_or(phases.len());
        let of_bag = phases.get(*start..end).unwrap_or(&[]);
        findings.extend(of_one_bag(context, of_bag));
    }
    findings.extend(behind_no_end(context));
    findings.extend(phases.iter().flat_map(|phase| each_time(context, phase)));
}

/// The first run or bolus that never begins, since what comes before it has no
/// end.
fn behind_no_end(context: &OrderContext<'_>) -> Option<Finding> {
    let order = &context.analysis.order;
    let view = context.analysis.values.as_ref().ok()?.views.first()?;
    let actions = view.phases.iter().map(|phase| phase.sequence.len());
    if actions.sum::<usize>() < 2 {
        return None;
    }
    let delivery = view.delivery(order, At::Start)?;
    let begun: FxHashSet<_> = delivery
        .pieces
        .iter()
        .map(|piece| (piece.phase, piece.source))
        .collect();
    let endless = delivery.pieces.last()?;
    let phases = view.phases.iter().enumerate();
    let actions = phases.flat_map(|(index, phase)| {
        let sources = phase.sequence.iter().map(|action| match *action {
            Action::Bolus(at) => Source::Bolus(at),
            Action::Run(at) => Source::Run(at),
        });
        sources.map(move |source| (index, source))
    });
    let mut waiting = actions.filter(|action| !begun.contains(action));
    let (index, source) = waiting.next()?;
    let spec = order.phases.get(index)?;
    let span = match source {
        Source::Bolus(at) => spec.boluses.get(at)?.span,
        Source::Run(at) => spec.runs.get(at)?.span,
        Source::KeepOpen | Source::KeepOpenWith => return None,
    };
    Some(
        context
            .finding(
                &RULE,
                span,
                "This is never given: the line before it has no end.",
            )
            .related(context.place(delivery.span_of(endless)), "has no end")
            .note("State when that ends: `every TIME for N doses`, or for how long. `then` applies only after the last run of the order."),
    )
}

/// A bolus `each time` where nothing comes again.
fn each_time<'a>(
    context: &'a OrderContext<'_>,
    phase: &'a Phase,
) -> impl Iterator<Item = Finding> + 'a {
    let repeats = phase.runs.iter().any(|run| run.every.is_some());
    let boluses = phase
        .boluses
        .iter()
        .filter(move |bolus| bolus.each_time && !repeats);
    boluses.map(|bolus| {
        context
            .finding(&RULE, bolus.span, "`each time` has no effect: no run of this phase repeats, so the bolus is given once.")
            .note("State how often the run is repeated (`every TIME`), or remove `each time`. After `then renew`, the next bags are given without a bolus.")
    })
}

/// The lines above the first phase that hold for none.
fn overridden(lines: &[Line]) -> Vec<&Line> {
    let is_phase = |line: &Line| matches!(line.fact, Fact::Phase { .. });
    let Some(first) = lines.iter().position(is_phase) else {
        return Vec::new();
    };
    let (shared, own) = lines.split_at(first);
    let phases: Vec<_> = own.split(is_phase).skip(1).collect();
    let has = |phase: &[Line], fact: &Fact| {
        let same = std::mem::discriminant(fact);
        phase
            .iter()
            .any(|line| std::mem::discriminant(&line.fact) == same)
    };
    let lost = |line: &&Line| {
        let Some(kind) = line.fact.kind() else {
            return false;
        };
        let own = |phase: Option<&&[Line]>| phase.is_some_and(|phase| has(phase, &line.fact));
        match kind.row().reach {
            Reach::FirstPhase => own(phases.first()),
            Reach::LastPhase => own(phases.last()),
            Reach::EachPhase => phases.iter().all(|phase| own(Some(phase))),
            Reach::Stanza => false,
        }
    };
    shared.iter().filter(lost).collect()
}

/// A bag that nothing runs from, through the phases that go on with it.
fn of_one_bag(context: &OrderContext<'_>, phases: &[Phase]) -> Option<Finding> {
    let bag = phases.first()?.bag.as_ref()?;
    let keeps_open = |phase: &Phase| {
        let then = phase.then.as_ref().map(|(then, _)| then);
        matches!(then, Some(ThenSpec::KeepOpen { solution: None, .. }))
    };
    if phases.iter().any(|phase| !phase.runs.is_empty()) {
        return None;
    }
    let given = |phase: &Phase| !phase.boluses.is_empty() || keeps_open(phase);
    if !phases.iter().any(given) {
        return Some(
            context
                .finding(
                    &RULE,
                    bag.span,
                    "This bag is never given: it has no `run` and no `bolus`.",
                )
                .note(
                    "State how it is run, such as `run all over 4 h`, from the source; or remove the bag.",
                ),
        );
    }
    let (keyword, span) = phases.iter().find_map(wants_run)?;
    let message =
        format!("`{keyword}` has no effect without a `run`: only a bolus is given from this bag.");
    Some(
        context
            .finding(&RULE, span, message)
            .related(context.place(bag.span), "the bag")
            .note("State how it is run, such as `run all over 4 h`, from the source; or, if only the bolus is to be given, end with `then stop`."),
    )
}

/// A line that only a run gives a meaning.
fn wants_run(phase: &Phase) -> Option<(&'static str, Span)> {
    if let Some(adjust) = &phase.adjust {
        return Some(("adjust", adjust.span));
    }
    if let Some(change) = &phase.change_bag {
        return Some(("change bag", change.span));
    }
    match &phase.then {
        Some((ThenSpec::Renew(_), span)) => Some(("then renew", *span)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    /// An order of a drug in phases, with these lines.
    fn assert_phases(lines: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

order cefuroxime-phases "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
{lines}  phase      second
    mix      1.5 g made up to 100 mL with saline
    run      all over 4 h
  then       stop
"#
        ));
    }

    #[test]
    fn a_phase_whose_bag_is_never_given() {
        assert_phases(
            "  phase      first
    mix      1.5 g made up to 50 mL with saline
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.none: This bag is never given
",
        );
    }

    #[test]
    fn a_lost_phase_line() {
        assert_phases(
            "  mix        1.5 g made up to 50 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.none: This `mix` is never used: every phase to which it could apply has its own.
  run        all over 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^ run.none: This `run` is never used: every phase to which it could apply has its own.
",
        );
    }

    #[test]
    fn what_has_nothing_to_act_on() {
        let order = |lines: &str| {
            format!(
                r#"
use "tarnwick.gtt"

order pantoprazole-bolus "Pantoprazole"
  drug       pantoprazole
  route      central vein
  pump       volumetric
  mix        80 mg made up to 100 mL with saline
  bolus      50 mL over 30 min
{lines}"#
            )
        };
        assert_findings(&order("  then       stop\n"));
        assert_findings(&order(
            "  then       renew
  ^^^^^^^^^^^^^^^^ run.none: `then renew` has no effect without a `run`: only a bolus is given from this bag.
",
        ));
        assert_findings(&order(
            "  adjust     4 to 8 mg/h by 2 mg/h every 6 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.none: `adjust` has no effect without a `run`
  then       stop
",
        ));
    }

    #[test]
    fn a_shared_run_that_a_phase_uses_is_carried_out() {
        assert_phases(
            "  run        all over 1 h
  phase      first
    mix      1.5 g made up to 50 mL with saline
",
        );
    }
}
