#![doc = include_str!("fluid_load.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::delivery::Counted;
use gutta_protocol::derive::day;
use gutta_protocol::derive::{At, View};
use gutta_protocol::limits::fluid_bounds;
use gutta_protocol::model::order::{AdjustSpec, Answer, Named, Order, RunSpec};
use gutta_protocol::model::reference::Area;
use gutta_protocol::model::set::fluid_unit;
use gutta_protocol::model::size::{Extent, Form, Per};
use gutta_quantity::{Quantity, Unit};

use crate::beyond::{Beyond, furthest};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.fluid-load",
    severity: Severity::Error,
    locked: false,
    page: include_str!("fluid_load.md"),
    check: Check::Order(check),
};

/// More fluid than an area allows.
struct Load<'a> {
    area: &'a Named<Area>,
    bound: &'a Extent,
    unit: Unit,
    at: At,
    beyond: Beyond,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let named = order.area.named().is_some();
    let mut loads = Vec::new();
    let mut unknown = None;
    for (area, bound, form) in fluid_bounds(order) {
        let Some(most) = &bound.high else { continue };
        for (index, view) in values.views.iter().enumerate() {
            for at in settings(order) {
                let beyond = match load(order, view, at, form) {
                    Ok(load) => {
                        let level = Curve::constant(load.span().clone(), most.clone());
                        Beyond::above(index, &load, &level)
                    }
                    // Which area it is may be asked first: `limit.unanswered`.
                    Err(Unknown::Patient) if order.area == Answer::Unanswered => None,
                    Err(why) if unknown.is_none() => {
                        unknown = Some(why);
                        findings.push(unchecked(context, area, bound, form, why));
                        None
                    }
                    Err(_) => None,
                };
                loads.extend(beyond.map(|beyond| Load {
                    area,
                    bound,
                    unit: fluid_unit(form),
                    at,
                    beyond,
                }));
            }
        }
    }
    if loads.iter().any(|load| load.at == At::Start) {
        loads.retain(|load| load.at == At::Start);
    }
    // Of several areas in scope the strictest is the one that holds, in each
    // form by itself: per day and per kg a day cannot be compared.
    let same = |one: &Load<'_>, other: &Load<'_>| one.unit == other.unit;
    for load in furthest(loads, |load| &mut load.beyond, same) {
        let style = context.style();
        let most = style.quantity(&Quantity::from_base(load.beyond.bound.clone(), load.unit));
        let limit = format!("the {most} allowed in `{}`", load.area.name);
        let subject = match load.at {
            At::High => "the fluid at the highest step",
            At::Start | At::Low => "the fluid",
        };
        let message = load.beyond.told(values, subject, &limit, load.unit, style);
        let place = context.workspace.place(load.area.id, load.bound.span);
        let mut finding = context
            .finding(&RULE, line(order), message)
            .related(place, "the fluid limit of this area");
        if !named {
            finding = finding
                .note("The order names no area, so the strictest limit of all areas applies.");
        }
        findings.push(finding.note(advice(order, load.at)));
    }
}

/// What lessens the fluid, by how the order sets it.
fn advice(order: &Order, at: At) -> &'static str {
    let phases = &order.phases;
    if at == At::High {
        let mut adjusts = phases.iter().filter_map(|phase| phase.adjust.as_ref());
        return if adjusts.any(AdjustSpec::is_dosed) {
            "Lower the top of `adjust`, or use a stronger mixture."
        } else {
            "Lower the top of `adjust`."
        };
    }
    let mut runs = phases.iter().flat_map(|phase| &phase.runs);
    if order.drug.is_none() {
        "Give less of it in a day: a slower flow, or a smaller volume."
    } else if runs.any(RunSpec::is_dosed) {
        "To keep the dose, use a stronger mixture within the drug's limits; a slower flow gives a smaller dose."
    } else {
        "Give the drug in less fluid, with a stronger mixture within the drug's limits; or give less in a day."
    }
}

fn settings(order: &Order) -> Vec<At> {
    let adjusted = order.phases.iter().any(|phase| phase.adjust.is_some());
    if adjusted {
        vec![At::Start, At::High]
    } else {
        vec![At::Start]
    }
}

/// Why a load has no value.
#[derive(Clone, Copy)]
enum Unknown {
    /// The weight or surface that the bound is by is not stated.
    Patient,
    /// It cannot be computed.
    Value,
}

/// The most fluid in 24 hours, per day, in the bound's form.
fn load(order: &Order, view: &View, at: At, form: Form) -> Result<Curve, Unknown> {
    let by = view.patients.factor(form).ok_or(Unknown::Patient)?;
    let load = || {
        let fluid = view.delivery(order, at)?.most_in(Counted::Fluid, &day())?;
        fluid.scale(&day().recip()?).div(&by)
    };
    load().ok_or(Unknown::Value)
}

/// The line that brings it: the first run, else the first bolus.
fn line(order: &Order) -> Span {
    let runs = order
        .phases
        .iter()
        .flat_map(|phase| &phase.runs)
        .map(|run| run.span);
    let boluses = order
        .phases
        .iter()
        .flat_map(|phase| &phase.boluses)
        .map(|bolus| bolus.span);
    runs.chain(boluses).next().unwrap_or(order.header)
}

fn unchecked(
    context: &OrderContext<'_>,
    area: &Named<Area>,
    bound: &Extent,
    form: Form,
    why: Unknown,
) -> Finding {
    let what = if form.per == Per::Surface {
        "body surface area"
    } else {
        "weight"
    };
    let (why, advice) = match why {
        Unknown::Patient => (
            format!("it is by {what}, and the order does not state the patient's {what}"),
            format!(
                "Add a `patient {}` line.",
                what.trim_start_matches("body ").trim_end_matches(" area")
            ),
        ),
        Unknown::Value => (
            "the fluid of this order cannot be calculated".to_owned(),
            "Calculate it by hand, or write the order in simpler lines.".to_owned(),
        ),
    };
    let message = format!("The fluid limit of `{}` was not checked: {why}.", area.name);
    context
        .finding(&RULE, context.analysis.order.header, message)
        .related(
            context.workspace.place(area.id, bound.span),
            "the limit that was not checked",
        )
        .note(advice)
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, assert_findings_in, findings};

    #[test]
    fn what_to_do_is_by_what_sets_the_fluid() {
        let advice = |lines: &str| {
            let text = format!(
                "use \"tarnwick.gtt\"\n\narea hostel \"Hostel\"\n  fluid up to 1 L/day\n\norder a \"A\"\n  area hostel\n  route central vein\n  pump volumetric\n{lines}  then renew\n"
            );
            let found = findings(&text)
                .into_iter()
                .find(|finding| finding.rule.name == "volume.fluid-load");
            found.unwrap().notes.pop().unwrap()
        };
        let fluid = "  hang 1 L of saline\n";
        let drug = "  drug midazolam\n  mix 10 mg made up to 500 mL with saline\n";
        for (bag, run, told) in [
            (fluid, "all at 100 mL/h", "Give less of it in a day"),
            (
                fluid,
                "all at 40 mL/h\n  adjust 40 to 80 mL/h by 10 mL/h every 1 h",
                "Lower the top of `adjust`.",
            ),
            (drug, "all at 2 mg/h", "To keep the dose"),
            (drug, "all over 5 h", "Give the drug in less fluid"),
            (
                drug,
                "all at 0.5 mg/h\n  adjust 0.5 to 2 mg/h by 0.5 mg/h every 1 h",
                "Lower the top of `adjust`, or use a stronger mixture.",
            ),
        ] {
            let note = advice(&format!("{bag}  run {run}\n"));
            assert!(note.starts_with(told), "{run}: {note}");
        }
    }

    #[test]
    fn the_bound_itself_is_allowed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

area nursery "Special care nursery"
  patient    weight 1 to 5 kg
  fluid      up to 120 mL/kg/day

order glucose-newborn "Glucose"
  area       nursery
  route      umbilical vein
  pump       syringe
  hang       50 mL of glucose-10
  run        all at 5 mL/kg/h
  then       renew

order glucose-too-much "Glucose"
  area       nursery
  route      umbilical vein
  pump       syringe
  hang       50 mL of glucose-10
  run        all at 5.1 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: The fluid is 122 mL/kg/day, more than the 120 mL/kg/day allowed in `nursery`.
  then       renew

order glucose-adjusted "Glucose"
  area       nursery
  route      umbilical vein
  pump       syringe
  hang       50 mL of glucose-10
  run        all at 4 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: The fluid at the highest step is 144 mL/kg/day
  adjust     4 to 6 mL/kg/h by 1 mL/kg/h every 1 h
  then       renew

order glucose-measured "Glucose"
  area       nursery
  route      umbilical vein
  pump       syringe
  hang       50 mL of glucose-10
  run        all at 10 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: Below 2 kg the fluid is more than the 120 mL/kg/day allowed in `nursery`: 240 mL/kg/day at 1 kg.
  then       renew
"#,
        );
    }

    #[test]
    fn bounds_of_two_forms_hold_each_by_itself() {
        let areas = r#"
area wing "Wing"
  patient    weight 50 to 100 kg
  fluid      up to 2 L/day

area hostel "Hostel"
  patient    weight 50 to 100 kg
  fluid      up to 30 mL/kg/day

area annexe "Annexe"
  patient    weight 50 to 100 kg
  fluid      up to 1.5 L/day
"#;
        assert_findings_in(
            &[("areas.gtt", areas)],
            r#"
use "tarnwick.gtt"
use "areas.gtt"

order saline-bag "Saline"
  patient    weight 50 to 100 kg
  area       any
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all at 100 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: The fluid is 2400 mL/day, more than the 1500 mL/day allowed in `annexe`.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: Below 80 kg the fluid is more than the 30 mL/kg/day allowed in `hostel`: 48 mL/kg/day at 50 kg.
  then       renew
"#,
        );
    }

    #[test]
    fn without_a_weight_it_says_that_it_was_not_checked() {
        assert_findings(
            r#"
use "tarnwick.gtt"

area hostel "Hostel"
  fluid      up to 40 mL/kg/day

order saline-bag "Saline"
^^^^^^^^^^^^^^^^^^^^^^^^^ volume.fluid-load: was not checked
  area       hostel
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline
  run        all over 8 h
  then       stop
"#,
        );
    }
}
