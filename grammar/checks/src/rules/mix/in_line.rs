#![doc = include_str!("in_line.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::View;
use gutta_protocol::model::order::{Answer, Named, Order, Phase, ThenSpec};
use gutta_protocol::model::reference::Solution;
use smol_str::SmolStr;

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.in-line",
    severity: Severity::Error,
    locked: false,
    page: include_str!("in_line.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    let own = &drug.value;
    if own.not_with.is_empty() && own.with.is_none() {
        return;
    }
    // What could not be read may be what parts them.
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let passes = passes(order, values.views.first());
    let mut unknown: Vec<&SmolStr> = Vec::new();
    for (place, pass) in passes.iter().enumerate() {
        let Some(solution) = pass.fluid else { continue };
        let name = &solution.value.name;
        let at = solution.span.unwrap_or(pass.span);
        if own.not_with.contains(name) {
            if !meets_drug(&passes, place) {
                continue;
            }
            let rule = own.not_with_span.unwrap_or_default();
            let message = format!(
                "{} is not compatible with {name}, and the two meet in the line.",
                own.name
            );
            findings.push(
                context
                    .finding(&RULE, at, message)
                    .related(context.workspace.place(drug.id, rule), "the drug's rule")
                    .note("Use a compatible fluid; or flush the line with one between the two."),
            );
        } else if let Some((with, rule)) = &own.with
            && !with.contains(name)
            && !unknown.contains(&name)
            && meets_drug(&passes, place)
        {
            unknown.push(name);
            let message = format!(
                "{name} meets {} in the line, and is not listed as compatible with it.",
                own.name
            );
            findings.push(
                context
                    .finding(&RULE, at, message)
                    .severity(Severity::Warning)
                    .related(context.workspace.place(drug.id, *rule), "the fluids listed for the drug")
                    .note("Use one of these; or add the fluid to the drug's `with` once its source says so."),
            );
        }
    }
}

/// Something that passes through the line, in the order in which it does.
struct Pass<'o> {
    span: Span,
    /// A fluid without the drug; `None`: the drug's bag.
    fluid: Option<&'o Named<Solution>>,
    /// Whether it surely leaves nothing of what was before it in the line.
    rinses: bool,
    /// Where it goes.
    phase: &'o Phase,
}

fn passes<'o>(order: &'o Order, view: Option<&View>) -> Vec<Pass<'o>> {
    let mut passes = Vec::new();
    let mut bag_is_drug = false;
    let mut bag_fluid = None;
    for (index, phase) in order.phases.iter().enumerate() {
        if let Some(bag) = &phase.bag {
            use gutta_protocol::model::order::Preparation;
            bag_is_drug = !matches!(bag.how, Preparation::Fluid { .. });
            bag_fluid = bag.solution.as_ref();
        }
        if !phase.runs.is_empty() || !phase.boluses.is_empty() {
            let fluid = bag_fluid.filter(|_| !bag_is_drug);
            if bag_is_drug || fluid.is_some() {
                passes.push(Pass {
                    span: phase.span,
                    fluid,
                    rinses: !bag_is_drug,
                    phase,
                });
            }
        }
        for (place, (size, solution)) in phase.flushes.iter().enumerate() {
            let volume = view.and_then(|view| view.phases.get(index)?.flushes.get(place));
            passes.extend(solution.as_ref().map(|solution| Pass {
                span: size.span,
                fluid: Some(solution),
                rinses: volume.is_some_and(|volume| fills_line(phase, view, index, volume)),
                phase,
            }));
        }
        if let Some((ThenSpec::KeepOpen { solution, .. }, span)) = &phase.then {
            passes.extend(solution.as_ref().map(|solution| Pass {
                span: *span,
                fluid: Some(solution),
                rinses: true,
                phase,
            }));
        }
    }
    passes
}

/// Whether a flush is as much as the line holds, where that is stated.
fn fills_line(phase: &Phase, view: Option<&View>, index: usize, flush: &Curve) -> bool {
    let primed = view.and_then(|view| view.phases.get(index)?.prime.clone());
    let of_set = || {
        let set = phase.giving_set.as_ref()?;
        let (priming, _) = set.value.priming.as_ref()?;
        Some(Curve::constant(flush.span().clone(), priming.clone()))
    };
    let Some(line) = primed.or_else(of_set) else {
        return true;
    };
    flush.where_below(&line).is_some_and(|less| less.is_empty())
}

/// Whether the drug passes the line just before or just after this, with
/// nothing between them that rinses it.
fn meets_drug(passes: &[Pass<'_>], place: usize) -> bool {
    let own = &passes[place];
    let (before, after) = passes.split_at(place);
    let same_line = |pass: &&Pass<'_>| one_way(own.phase, pass.phase);
    let is_next = |pass: &Pass<'_>| pass.fluid.is_none() || pass.rinses;
    let before = before
        .iter()
        .rev()
        .filter(same_line)
        .find(|pass| is_next(pass));
    let after = after
        .iter()
        .skip(1)
        .filter(same_line)
        .find(|pass| is_next(pass));
    [before, after]
        .into_iter()
        .flatten()
        .any(|pass| pass.fluid.is_none())
}

/// Whether two phases may go through one line: by the same route, or by one
/// that is not stated.
fn one_way(one: &Phase, other: &Phase) -> bool {
    match (&one.route, &other.route) {
        (Answer::Is(one), Answer::Is(other)) => one.value == other.value,
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    fn assert_order(lines: &str) {
        assert_order_with("", lines);
    }

    fn assert_order_with(giving_set: &str, lines: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"
{giving_set}
drug amphotericin "Amphotericin B"
  supplied   50 mg in 10 mL
  with       glucose-5
  not with   saline

order amphotericin-dose "Amphotericin B"
  drug       amphotericin
  route      central vein
  pump       volumetric
{lines}"#
        ));
    }

    #[test]
    fn a_flush_and_what_keeps_the_vein_open() {
        assert_order(
            "  mix        50 mg made up to 500 mL with glucose-5
  run        all over 4 h
  flush      20 mL with saline
                        ^^^^^^ mix.in-line: amphotericin is not compatible with saline, and the two meet in the line.
  then       keep open 5 mL/h with saline
",
        );
        assert_order(
            "  mix        50 mg made up to 500 mL with glucose-5
  run        all over 4 h
  then       keep open 5 mL/h with saline
                                   ^^^^^^ mix.in-line
",
        );
    }

    #[test]
    fn the_phases_before_and_after() {
        assert_order(
            "  phase      first
    hang       100 mL of saline
                         ^^^^^^ mix.in-line
    run        all over 30 min
  phase      infusion
    mix        50 mg made up to 500 mL with glucose-5
    run        all over 4 h
  phase      last
    hang       100 mL of saline
                         ^^^^^^ mix.in-line
    run        all over 30 min
  then       stop
",
        );
    }

    #[test]
    fn what_is_flushed_between_parts_them() {
        assert_order(
            "  phase      first
    hang       100 mL of saline
    run        all over 30 min
    flush      20 mL with glucose-5
  phase      infusion
    mix        50 mg made up to 500 mL with glucose-5
    run        all over 4 h
    flush      20 mL with glucose-5
  phase      last
    hang       100 mL of saline
    run        all over 30 min
  then       stop
",
        );
    }

    #[test]
    fn a_flush_smaller_than_the_line_parts_nothing() {
        assert_order_with(
            r#"
giving-set line-10 "A line of 10 mL"
  drops      20 per mL
  priming    10 mL
"#,
            "  giving-set line-10
  mix        50 mg made up to 500 mL with glucose-5
  run        all over 4 h
  flush      5 mL with glucose-5
  then       keep open 5 mL/h with saline
                                   ^^^^^^ mix.in-line
",
        );
    }

    #[test]
    fn another_route_is_another_line() {
        assert_order(
            "  phase      first
    route      peripheral vein
    hang       100 mL of saline
    run        all over 30 min
  phase      infusion
    mix        50 mg made up to 500 mL with glucose-5
    run        all over 4 h
  then       stop
",
        );
    }

    #[test]
    fn what_is_not_known_to_go_together_is_told_once() {
        assert_order(
            "  mix        50 mg made up to 500 mL with glucose-5
  run        all over 4 h
  flush      20 mL with glucose-10
                        ^^^^^^^^^^ mix.in-line: glucose-10 meets amphotericin in the line, and is not listed as compatible with it.
  then       keep open 5 mL/h with glucose-10
",
        );
    }
}
