#![doc = include_str!("off_step.md")]

use gutta_protocol::derive::{Run, Setting, View};
use gutta_protocol::model::order::{AdjustSpec, Order, RunSpec, StepsSpec, WaySpec};
use gutta_protocol::model::size::Size;
use gutta_quantity::{Exact, Quantity};

use crate::words::any_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.off-step",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("off_step.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let mut seen = Vec::new();
    for (index, phase) in order.phases.iter().enumerate() {
        let Some(adjust) = &phase.adjust else {
            continue;
        };
        let Some(low) = adjust.steps.low() else {
            continue;
        };
        let alike = |run: &&RunSpec| rate(run).is_some_and(|rate| rate.form == low.form);
        for run in phase.runs.iter().filter(alike) {
            let Some(start) = rate(run) else { continue };
            if seen.contains(&run.span) || is_step(&adjust.steps, &start.value) {
                continue;
            }
            seen.push(run.span);
            findings.push(report(context, start, adjust));
        }
        // A start in another form than the steps must make one of them for
        // every patient.
        let other = phase
            .runs
            .last()
            .filter(|_| !phase.runs.iter().any(|run| alike(&run)));
        if let Some(run) = other.filter(|run| !seen.contains(&run.span))
            && let Some(message) = in_another_form(context, index, adjust, low)
        {
            seen.push(run.span);
            findings.push(
                context
                    .finding(&RULE, run.span, message)
                    .related(context.place(adjust.span), "the steps")
                    .note("State the starting setting and the steps in the same unit."),
            );
        }
    }
}

fn rate(run: &RunSpec) -> Option<&Size> {
    run.ways.iter().find_map(|way| match way {
        WaySpec::At(rate) => Some(rate),
        WaySpec::Over(_) => None,
    })
}

fn is_step(steps: &StepsSpec, value: &Exact) -> bool {
    match steps {
        StepsSpec::List(list) => list.iter().any(|step| step.value == *value),
        StepsSpec::By { low, high, step } => {
            let count = (value - &low.value).checked_div(&step.value);
            let on = count.is_some_and(|count| count.is_whole());
            on && low.value <= *value && *value <= high.value
        }
    }
}

/// The steps next to a value, below and above.
fn nearest(steps: &StepsSpec, value: &Exact) -> Vec<Exact> {
    let (below, above) = match steps {
        StepsSpec::List(list) => {
            let values = || list.iter().map(|step| step.value.clone());
            (
                values().filter(|step| step < value).max(),
                values().filter(|step| step > value).min(),
            )
        }
        StepsSpec::By { low, high, step } => {
            let count = |value: &Exact| {
                (value - &low.value)
                    .checked_div(&step.value)
                    .map(|count| count.floor())
            };
            let step_at = |count: Exact| &low.value + &(&count * &step.value);
            let last = count(&high.value).map(&step_at);
            if *value < low.value {
                (None, Some(low.value.clone()))
            } else if *value > high.value {
                (last, None)
            } else {
                let below = count(value).map(&step_at);
                let above = below.as_ref().map(|below| below + &step.value);
                (below, above.filter(|above| *above <= high.value))
            }
        }
    };
    below.into_iter().chain(above).collect()
}

fn report(context: &OrderContext<'_>, start: &Size, adjust: &AdjustSpec) -> Finding {
    let written = |value: &Exact| {
        let step = Quantity::from_base(value.clone(), start.unit);
        let told = context.style().quantity_exact(&step)?;
        Some(told.to_string())
    };
    let near: Vec<_> = nearest(&adjust.steps, &start.value)
        .iter()
        .filter_map(&written)
        .collect();
    let next = if near.is_empty() {
        String::new()
    } else {
        format!(
            ": the nearest {} {}",
            if near.len() == 1 { "is" } else { "are" },
            crate::words::all_of(&near)
        )
    };
    let old = context.text(start.span);
    let message =
        format!("The starting setting of {old} is not one of the steps of `adjust`{next}.");
    let mut finding = context
        .finding(&RULE, start.span, message)
        .related(
            context.place(adjust.span),
            "the steps, counted from the lowest",
        )
        .note(if near.is_empty() {
            "Start at one of the steps, or change the steps.".to_owned()
        } else {
            format!("Start at {}, or change the steps.", any_of(&near))
        });
    // A step above the start would give more than was written: it is told alone.
    let below = nearest(&adjust.steps, &start.value).into_iter();
    let below = below.filter(|step| *step < start.value);
    for text in below.filter_map(|step| written(&step)) {
        finding.fixes.push(
            context
                .replace(start.span, text.clone())
                .titled(format!("write {text} instead of {old}")),
        );
    }
    finding
}

/// What is wrong with a start that is stated otherwise than the steps.
fn in_another_form(
    context: &OrderContext<'_>,
    phase: usize,
    adjust: &AdjustSpec,
    like: &Size,
) -> Option<String> {
    let order = &context.analysis.order;
    let values = context.analysis.values.as_ref().ok()?;
    let off = values.views.iter().any(|view| {
        let run = view.phases.get(phase).and_then(|phase| phase.runs.last());
        run.is_some_and(|run| !starts_on_a_step(order, view, phase, run, adjust, like))
    });
    let set = values.views.first()?.phases.get(phase)?.runs.last()?;
    let stated = match &set.setting {
        Setting::Rate(size) => format!("the start is {}", context.text(size.span)),
        Setting::Time => "the run is set by a time".to_owned(),
    };
    let unit = context.style().unit(like.unit);
    off.then(|| format!("The steps of `adjust` are in {unit}, and {stated}, which is not one of them for every patient."))
}

fn starts_on_a_step(
    order: &Order,
    view: &View,
    phase: usize,
    run: &Run,
    adjust: &AdjustSpec,
    like: &Size,
) -> bool {
    let start = view.in_form(order, phase, &run.flow, like);
    start.is_some_and(|start| {
        start
            .is_constant()
            .is_some_and(|start| is_step(&adjust.steps, start))
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    fn found(run: &str, adjust: &str) -> Vec<(String, Vec<String>)> {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder dobutamine-steady \"Dobutamine\"\n  drug       dobutamine\n  patient    weight 40 to 80 kg\n  route      central vein\n  pump       syringe\n  mix        250 mg made up to 50 mL with glucose-5\n  run        {run}\n  adjust     {adjust} every 15 min\n  then       renew\n"
        );
        let found = findings(&text);
        found
            .into_iter()
            .filter(|finding| finding.rule.name == "run.off-step")
            .map(|finding| {
                (
                    finding.message,
                    finding.fixes.into_iter().map(|fix| fix.title).collect(),
                )
            })
            .collect()
    }

    #[test]
    fn the_ends_are_steps() {
        for start in ["2", "4", "20"] {
            let run = format!("all at {start} mcg/kg/min");
            assert_eq!(found(&run, "2 to 20 mcg/kg/min by 2 mcg/kg/min"), []);
        }
        assert_eq!(found("all at 2.5 mcg/kg/min", "1, 2.5, 5 mcg/kg/min"), []);
    }

    #[test]
    fn between_below_and_above_the_steps() {
        // A step above the start is never offered.
        for (start, below) in [
            ("5", vec!["4"]),
            ("1", vec![]),
            ("21", vec!["18"]),
            ("19", vec!["18"]),
        ] {
            let run = format!("all at {start} mcg/kg/min");
            let found = found(&run, "2 to 19 mcg/kg/min by 2 mcg/kg/min");
            let fixes: Vec<_> = below
                .iter()
                .map(|below| format!("write {below} mcg/kg/min instead of {start} mcg/kg/min"))
                .collect();
            assert_eq!(found.first().map(|found| &found.1), Some(&fixes), "{start}");
        }
    }

    #[test]
    fn steps_in_another_unit_of_the_same_kind() {
        assert_eq!(
            found("all at 0.3 mg/kg/h", "1 to 9 mcg/kg/min by 1 mcg/kg/min"),
            []
        );
        assert_eq!(
            found("all at 0.33 mg/kg/h", "1 to 9 mcg/kg/min by 1 mcg/kg/min").len(),
            1
        );
    }

    #[test]
    fn a_flow_that_is_to_be_adjusted_as_a_dose() {
        let found = found("all at 5 mL/h", "1 to 9 mcg/kg/min by 1 mcg/kg/min");
        assert_eq!(
            found[0].0,
            "The steps of `adjust` are in mcg/kg/min, and the start is 5 mL/h, which is not one of them for every patient."
        );
    }
}
