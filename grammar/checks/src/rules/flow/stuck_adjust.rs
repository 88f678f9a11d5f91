#![doc = include_str!("stuck_adjust.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, Run, View};
use gutta_protocol::model::order::{Named, Order, StepsSpec};
use gutta_protocol::model::reference::{Pump, PumpRange};
use gutta_protocol::model::size::Size;
use gutta_quantity::{Exact, units};

use crate::beyond::{Beyond, furthest};
use crate::telling::{sentence, told, told_apart};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.stuck-adjust",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("stuck_adjust.md"),
    check: Check::Order(check),
};

/// A step that is too small for a range of the pump.
struct Stuck<'a> {
    phase: usize,
    pump: &'a Named<Pump>,
    range: &'a PumpRange,
    step: Size,
    beyond: Beyond,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let mut stuck = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        for phase in 0..order.phases.len() {
            stuck.extend(of_phase(order, view, index, phase));
        }
    }
    let worst = furthest(
        stuck,
        |stuck| &mut stuck.beyond,
        |one, other| one.phase == other.phase,
    );
    for stuck in worst {
        let Some(adjust) = order
            .phases
            .get(stuck.phase)
            .and_then(|phase| phase.adjust.as_ref())
        else {
            continue;
        };
        let unit = stuck.range.unit;
        let style = context.style();
        let step = style.quantity(&stuck.step.quantity());
        let pump = &stuck.pump.name;
        let coarse = told(&stuck.beyond.bound, unit, style);
        let small = told_apart(
            &stuck.beyond.value,
            &stuck.beyond.bound,
            units::ML_PER_H,
            style,
        );
        let message = match (
            stuck.beyond.whom(values, style),
            stuck.beyond.patient(values, style),
        ) {
            (Some(whom), Some(at)) => format!(
                "{} a step of {step} is as little as {small} (at {at}), and `{pump}` can be set there only in steps of {coarse}.",
                sentence(&whom)
            ),
            _ if stuck.step.unit == units::ML_PER_H => {
                format!(
                    "The steps are of {step}, and `{pump}` can be set there only in steps of {coarse}."
                )
            }
            _ => format!(
                "A step of {step} is {small}, and `{pump}` can be set there only in steps of {coarse}."
            ),
        };
        // A flow has no other steps in a weaker mixture.
        let (what, choice) = if adjust.is_dosed() {
            (
                "dose",
                "a larger step, a weaker mixture or a pump with finer steps",
            )
        } else {
            ("flow", "a larger step or a pump with finer steps")
        };
        findings.push(
            context
                .finding(&RULE, adjust.span, message)
                .related(context.workspace.place(stuck.pump.id, stuck.range.span), "the steps of this pump")
                .note(format!(
                    "Some steps then change nothing, and the next one changes the {what} by more than one step at once. Choose {choice}."
                )),
        );
    }
}

/// Every range of the pump that some step of the `adjust` is set in and that
/// is coarser than the step.
fn of_phase<'a>(order: &'a Order, view: &View, index: usize, phase: usize) -> Vec<Stuck<'a>> {
    let found = || {
        let spec = order.phases.get(phase)?;
        let (adjust, pump) = (spec.adjust.as_ref()?, spec.pump.as_ref()?);
        let runs = &view.phases.get(phase)?.runs;
        let run = runs
            .iter()
            .find(|run| view.adjusted(order, phase, run.index).is_some())?;
        let step = smallest(&adjust.steps)?;
        let flow = view.volume_of(order, phase, &step)?;
        let ranges = pump.value.flows.iter();
        Some(
            ranges
                .filter_map(|range| {
                    let beyond = stuck_in(order, view, index, phase, run, &flow, range)?;
                    Some(Stuck {
                        phase,
                        pump,
                        range,
                        step: step.clone(),
                        beyond,
                    })
                })
                .collect::<Vec<_>>(),
        )
    };
    found().unwrap_or_default()
}

/// Where the step is less than the range's while the range is used.
fn stuck_in(
    order: &Order,
    view: &View,
    index: usize,
    phase: usize,
    run: &Run,
    step: &Curve,
    range: &PumpRange,
) -> Option<Beyond> {
    let coarse = range.step.as_ref()?;
    let level = |value: &Exact| Curve::constant(step.span().clone(), value.clone());
    let low = view.flow_of(order, phase, run.index, At::Low)?;
    let high = view.flow_of(order, phase, run.index, At::High)?;
    let beyond = Beyond::below(index, step, &level(coarse))?;
    // Below zero only where all three hold: the step is too small, and the
    // settings reach into the range from above and from below.
    let misses = low
        .sub(&level(&range.high))?
        .max(&level(&range.low).sub(&high)?)?
        .max(&step.sub(&level(coarse))?)?;
    let regions = misses.where_below(&level(&Exact::ZERO))?;
    beyond.within(step, regions)
}

/// The smallest of the steps.
fn smallest(steps: &StepsSpec) -> Option<Size> {
    match steps {
        StepsSpec::By { step, .. } => Some(step.clone()),
        StepsSpec::List(list) => list
            .windows(2)
            .filter_map(|pair| {
                let (below, above) = (pair.first()?, pair.last()?);
                Some(Size {
                    value: &above.value - &below.value,
                    ..above.clone()
                })
            })
            .min_by(|one, other| one.value.cmp(&other.value)),
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_step_of_the_pump_itself_is_enough() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-adjusted "Saline"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 50 mL/h
  adjust     50 to 99 mL/h by 0.1 mL/h every 1 h
  then       renew
"#,
        );
    }

    #[test]
    fn a_step_too_small_where_the_pump_grows_coarse() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-adjusted "Saline"
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 50 mL/h
  adjust     50 to 110 mL/h by 0.5 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.stuck-adjust: The steps are of 0.5 mL/h, and `volumetric` can be set there only in steps of 1 mL/h.
  then       renew
"#,
        );
    }

    #[test]
    fn for_the_lighter_alone_and_of_a_list() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump whole-step "Pump with whole steps"
  flow       1 to 999 mL/h in steps of 1 mL/h

order dobutamine-steady "Dobutamine"
  drug       dobutamine
  patient    weight 40 to 80 kg
  route      central vein
  pump       whole-step
  mix        250 mg made up to 250 mL with glucose-5
  run        all at 5 mcg/kg/min
  adjust     5, 5.3, 6, 7 mcg/kg/min every 10 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.stuck-adjust: Below 55.6 kg a step of 0.3 mcg/kg/min is as little as 0.72 mL/h (at 40 kg), and `whole-step` can be set there only in steps of 1 mL/h.
  then       renew
"#,
        );
    }
}
