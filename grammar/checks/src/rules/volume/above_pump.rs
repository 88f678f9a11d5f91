#![doc = include_str!("above_pump.md")]

use gutta_notation::Span;
use gutta_protocol::derive::Values;
use gutta_quantity::units;

use crate::beyond::{Beyond, furthest};
use crate::telling::told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.above-pump",
    severity: Severity::Error,
    locked: false,
    page: include_str!("above_pump.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let mut found = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        for (spec, phase) in order.phases.iter().zip(&view.phases) {
            let Some(pump) = &spec.pump else { continue };
            let Some((most, span)) = &pump.value.volume else {
                continue;
            };
            for run in &phase.runs {
                let bound = view.patients.constant(most.clone());
                let beyond = Beyond::above(index, &run.volume, &bound);
                found.extend(beyond.map(|beyond| (run.span, pump, *span, beyond)));
            }
        }
    }
    let style = context.style();
    let mut told_of = Vec::new();
    for (run, pump, span, beyond) in
        furthest(found, |found| &mut found.3, |one, other| one.0 == other.0)
    {
        let most = told(&beyond.bound, units::ML, style);
        let limit = format!("{most}, the most that `{}` can be set to", pump.name);
        let message = beyond.told(values, "the volume of the run", &limit, units::ML, style);
        told_of.push(run);
        findings.push(
            context
                .finding(&RULE, run, message)
                .related(
                    context.workspace.place(pump.id, span),
                    "the most that this pump can be set to",
                )
                .note("Use a smaller bag, or give it in two runs."),
        );
    }
    syringes(context, values, &told_of, findings);
}

/// Bags that do not fit in the syringe of their pump, where no run of their phase
/// was told already.
fn syringes(
    context: &OrderContext<'_>,
    values: &Values,
    told_of: &[Span],
    findings: &mut Vec<Finding>,
) {
    let (order, style) = (&context.analysis.order, context.style());
    let mut found = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        for (spec, phase) in order.phases.iter().zip(&view.phases) {
            let (Some(bag), Some(pump)) = (&spec.bag, &spec.pump) else {
                continue;
            };
            let Some((most, span)) = &pump.value.volume else {
                continue;
            };
            let told = phase.runs.iter().any(|run| told_of.contains(&run.span));
            if told || !pump.value.takes_syringe() {
                continue;
            }
            let bound = view.patients.constant(most.clone());
            let beyond = Beyond::above(index, &phase.bag.volume, &bound);
            found.extend(beyond.map(|beyond| (bag.span, pump, *span, beyond)));
        }
    }
    for (bag, pump, span, beyond) in
        furthest(found, |found| &mut found.3, |one, other| one.0 == other.0)
    {
        let most = told(&beyond.bound, units::ML, style);
        let limit = format!("the {most} that fits in the syringe of `{}`", pump.name);
        let message = beyond.told(values, "the volume in it", &limit, units::ML, style);
        let place = context.workspace.place(pump.id, span);
        findings.push(
            context
                .finding(&RULE, bag, message)
                .severity(Severity::Warning)
                .related(place, "the most that this pump can be set to")
                .note("Make up a volume that fits, or name a pump that takes a bag."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_most_itself_can_be_set() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-syringe "Saline"
  route      peripheral vein
  pump       syringe
  hang       60 mL of saline
  run        all at 20 mL/h
  then       renew

order saline-too-much "Saline"
  patient    weight 2 to 10 kg
  route      peripheral vein
  pump       syringe
  hang       100 mL of saline
  run        8 mL/kg over 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.above-pump: Above 7.5 kg the volume of the run is more than 60 mL, the most that `syringe` can be set to: 80 mL at 10 kg.
  then       stop
"#,
        );
    }

    #[test]
    fn a_bag_that_fits_in_no_syringe() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-bag "Saline"
  route      peripheral vein
  pump       syringe
  hang       500 mL of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.above-pump: The volume in it is 500 mL, more than the 60 mL that fits in the syringe of `syringe`.
  run        50 mL over 1 h
  then       stop

order midazolam-bag "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 100 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.above-pump: The volume in it is 100 mL
  run        60 mL at 2.5 mg/h
  then       stop

order saline-pumped "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        400 mL over 4 h
  then       stop
"#,
        );
    }
}
