#![doc = include_str!("step_error.md")]

mod sawtooth;

use gutta_protocol::derive::{At, Setting, Values};
use gutta_protocol::measures::strength_unit;
use gutta_protocol::model::order::{Named, Order, Phase, Preparation};
use gutta_protocol::model::reference::Pump;
use gutta_protocol::pump::{FlowBounds, outside};
use gutta_quantity::{Atom, Dimension, Exact, Printed, Quantity, Rounding, Style, Unit, units};

use self::sawtooth::{Quiet, Tooth, tellable, worst};
use crate::flows::{Flow, Flowing};
use crate::telling::{patient, sentence, told, told_apart};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.step-error",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("step_error.md"),
    check: Check::Order(check),
};

/// A flow that rounding moves by more than the house tolerates.
struct Moved<'a> {
    flow: &'a Flow,
    pump: &'a Named<Pump>,
    tooth: Tooth,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let tolerance = &context.workspace.house.rounding_tolerance;
    let flows = context.flows();
    let mut moved: Vec<Moved<'_>> = Vec::new();
    for flow in flows {
        let Some(found) = judge(order, values, flow, tolerance) else {
            continue;
        };
        // What a run does at its start is not said again of its steps, and one
        // line is told once, at its worst.
        let known = moved.iter_mut().find(|known| {
            known.flow.span == found.flow.span
                || (found.flow.at != At::Start
                    && (known.flow.phase, known.flow.of) == (found.flow.phase, found.flow.of))
        });
        match known {
            None => moved.push(found),
            Some(known)
                if known.flow.span == found.flow.span && known.tooth.error < found.tooth.error =>
            {
                *known = found;
            }
            Some(_) => {}
        }
    }
    for moved in &moved {
        findings.push(report(context, values, moved, tolerance));
    }
}

/// Boluses have no steps.
fn judge<'a>(
    order: &'a Order,
    values: &Values,
    flow: &'a Flow,
    tolerance: &Exact,
) -> Option<Moved<'a>> {
    let phase: &'a Phase = order.phases.get(flow.phase)?;
    let pump = phase.pump.as_ref()?;
    let view = values.views.get(flow.view)?;
    let quiet = Quiet::of(&pump.value, &flow.flow, tolerance);
    if quiet == Some(Quiet::Always) {
        return None;
    }
    let bounds = match flow.of {
        Flowing::Run(run) => FlowBounds::of(
            order,
            view,
            flow.phase,
            view.phases.get(flow.phase)?.runs.get(run)?,
        ),
        Flowing::KeepOpen => FlowBounds::default(),
        Flowing::Bolus(_) => return None,
    };
    if let Some(Quiet::Between { low, high }) = &quiet
        && bounds.are_clear_of(low, high)
    {
        return None;
    }
    let tooth = worst(&pump.value, &flow.flow, &bounds, tolerance)?;
    if tooth.error <= *tolerance {
        return None;
    }
    let tooth = tellable(&pump.value, &flow.flow, &bounds, tooth);
    Some(Moved { flow, pump, tooth })
}

fn report(
    context: &OrderContext<'_>,
    values: &Values,
    moved: &Moved<'_>,
    tolerance: &Exact,
) -> Finding {
    let order = &context.analysis.order;
    let Moved { flow, pump, tooth } = moved;
    let view = values.views.get(flow.view);
    let style = context.style();
    let exact = told_apart(&tooth.exact, &tooth.set, units::ML_PER_H, style);
    let set = told(&tooth.set, units::ML_PER_H, style);
    let way = if tooth.set > tooth.exact {
        "more"
    } else {
        "less"
    };
    let drug = view
        .and_then(|view| view.phases.get(flow.phase))
        .is_some_and(|phase| phase.bag.drug.is_some());
    let what = if drug { "drug" } else { "fluid" };
    let due = format!(
        "{} should be {exact}, but `{}` can only be set to {set}",
        flow.subject(order),
        pump.name
    );
    let due = match view.and_then(|view| patient(view, &tooth.x, style)) {
        Some(at) => format!("at {at} {due}"),
        None => due,
    };
    let message = format!(
        "{}: {} {way} {what} than ordered; the local tolerance is {}.",
        sentence(&due),
        percent(&tooth.error, Rounding::Up, style),
        percent(tolerance, Rounding::HalfUp, style),
    );
    let mut finding = context.finding(&RULE, flow.span, message);
    if let Some(range) = pump
        .value
        .flows
        .iter()
        .find(|range| range.low <= tooth.set && tooth.set <= range.high)
    {
        finding = finding.related(
            context.workspace.place(pump.id, range.span),
            "the steps of this pump",
        );
    }
    finding.note(match weaker(context, values, moved, tolerance) {
        Some((strength, now)) => format!("At {strength} (this bag: {now}) or a little weaker, rounding would stay within the tolerance. Check the new mixture against the drug's own limits and the fluid."),
        None => "Choose a weaker mixture, another flow or a pump with finer steps.".to_owned(),
    })
}

fn percent(share: &Exact, rounding: Rounding, style: Style) -> String {
    format!(
        "{} %",
        style.decimal_significant(&(share * &Exact::int(100)), 3, rounding)
    )
}

/// The strongest mixture, to two figures, at which no patient's flow is moved
/// too much, where the flow follows from a dose; and the bag's own.
fn weaker(
    context: &OrderContext<'_>,
    values: &Values,
    moved: &Moved<'_>,
    tolerance: &Exact,
) -> Option<(Printed, Printed)> {
    let (order, style) = (&context.analysis.order, context.style());
    let Moved { flow, pump, tooth } = moved;
    let view = values.views.get(flow.view)?;
    let phase = view.phases.get(flow.phase)?;
    let Flowing::Run(run) = flow.of else {
        return None;
    };
    let Setting::Rate(size) = &phase.runs.get(run)?.setting else {
        return None;
    };
    size.form.drug()?;
    let drug = phase.bag.drug.as_ref()?;
    let strength = drug.strength.is_constant()?;
    let range = pump
        .value
        .flows
        .iter()
        .find(|range| range.low <= tooth.set && tooth.set <= range.high)?;
    let least = flow.flow.min_value()?.value;
    // Above this flow half a step is within the tolerance.
    let calm = range
        .step
        .as_ref()?
        .checked_div(&(tolerance * &Exact::int(2)))?;
    let weaker = (strength * &least).checked_div(&calm)?;
    let weaker = weaker.round_to(&Exact::ten_to(weaker.magnitude()? - 1), Rounding::Down);
    let flow = flow.flow.scale(&strength.checked_div(&weaker)?);
    let after = worst(&pump.value, &flow, &FlowBounds::default(), tolerance);
    let holds = after.is_none_or(|tooth| tooth.error <= *tolerance)
        && outside(&pump.value, &flow).is_empty();
    let unit = mixed_in(order, phase.bag.phase)
        .filter(|unit| unit.dimension() == drug.kind.dimension().minus(Dimension::VOLUME))
        .unwrap_or_else(|| strength_unit(drug.kind, &view.patients.constant(weaker.clone())));
    holds.then(|| {
        let now = told_apart(strength, &weaker, unit, style);
        (style.quantity(&Quantity::from_base(weaker, unit)), now)
    })
}

/// The strength's unit, as the line of the bag counts the drug.
fn mixed_in(order: &Order, phase: usize) -> Option<Unit> {
    let bag = order.phases.get(phase)?.bag.as_ref()?;
    let (Preparation::MadeUpTo { drug, .. }
    | Preparation::AddedTo { drug, .. }
    | Preparation::Premixed { amount: drug, .. }) = &bag.how
    else {
        return None;
    };
    Unit::new(drug.unit.top?).per(Atom::ML)
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    const DOBUTAMINE: &str = r#"
use "tarnwick.gtt"

pump whole-step "Pump with whole steps"
  flow       1 to 999 mL/h in steps of 1 mL/h

order dobutamine-steady "Dobutamine"
  drug       dobutamine
  patient    weight 40 to 80 kg
  route      central vein
  pump       whole-step
  mix        MIX made up to 50 mL with glucose-5
  run        all at 5 mcg/kg/min
  then       renew
"#;

    fn found(mix: &str) -> Vec<(String, String)> {
        findings(&DOBUTAMINE.replace("MIX", mix))
            .into_iter()
            .filter(|finding| finding.rule.name == "flow.step-error")
            .map(|finding| (finding.message, finding.notes.join(" ")))
            .collect()
    }

    #[test]
    fn the_worst_is_at_a_steps_edge() {
        let message = "At 41.7 kg the flow should be 2.5 mL/h, but `whole-step` can only be set to 3 mL/h: 20 % more drug than ordered; the local tolerance is 10 %.";
        for (mix, strengths) in [
            ("250 mg", "At 2.4 mg/mL (this bag: 5 mg/mL)"),
            ("0.25 g", "At 0.0024 g/mL (this bag: 0.005 g/mL)"),
            ("20 mL", "At 2.4 mg/mL (this bag: 5 mg/mL)"),
        ] {
            let note = format!(
                "{strengths} or a little weaker, rounding would stay within the tolerance. Check the new mixture against the drug's own limits and the fluid."
            );
            assert_eq!(found(mix), [(message.to_owned(), note)], "{mix}");
        }
    }

    #[test]
    fn the_weight_told_is_one_at_which_it_is_so() {
        // Rounding turns at 58.33… kg: at 58.3 kg the pump runs 0.2 mL/h.
        assert_findings(
            r#"
use "tarnwick.gtt"

order noradrenaline-slow "Noradrenaline"
  drug       noradrenaline
  patient    weight 43 to 113 kg
  route      central vein
  pump       syringe
  mix        7 mg made up to 50 mL with saline
  run        all at 0.01 mcg/kg/min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.step-error: At 58.4 kg the flow should be 0.25 mL/h, but `syringe` can only be set to 0.3 mL/h: 19.9 % more
  then       renew
"#,
        );
    }

    #[test]
    fn the_strength_proposed_is_quiet() {
        assert_eq!(found("120 mg"), []);
    }

    #[test]
    fn down_below_a_lid() {
        // Rounded half up it would be 3 mL/h, which the cap forbids.
        assert_findings(
            r#"
use "tarnwick.gtt"

pump whole-step "Pump with whole steps"
  flow       1 to 999 mL/h in steps of 1 mL/h

order dobutamine-steady "Dobutamine"
  drug       dobutamine
  patient    weight 80 to 100 kg
  route      central vein
  pump       whole-step
  mix        250 mg made up to 50 mL with glucose-5
  run        all at 5 mcg/kg/min, at most 14.5 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.step-error: the flow should be 2.9 mL/h, but `whole-step` can only be set to 2 mL/h: 31.1 % less drug
  then       renew
  waive      run.lid-always because "the lid is what is looked at here"
"#,
        );
    }

    #[test]
    fn the_lowest_step_and_the_tolerance_itself() {
        // 5.5 mL/h becomes 6, and from steps at the half 5 becomes 5.5, which
        // is the tolerance itself.
        assert_findings(
            r#"
use "tarnwick.gtt"

pump whole-step "Pump with whole steps"
  flow       1 to 999 mL/h in steps of 1 mL/h

order saline-adjusted "Saline"
  route      peripheral vein
  pump       whole-step
  hang       500 mL of saline
  run        all at 5.5 mL/h
  adjust     2.5 to 8.5 mL/h by 1.5 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.step-error: The flow at the lowest step should be 2.5 mL/h, but `whole-step` can only be set to 3 mL/h: 20 % more fluid
  then       renew

pump half-way "Pump with steps at the half"
  flow       0.5 to 999.5 mL/h in steps of 1 mL/h

order saline-at-the-tolerance "Saline"
  route      peripheral vein
  pump       half-way
  hang       500 mL of saline
  run        all at 5 mL/h
  then       renew
"#,
        );
    }
}
