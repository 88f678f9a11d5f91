#![doc = include_str!("above_pump.md")]

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
    for (run, pump, span, beyond) in
        furthest(found, |found| &mut found.3, |one, other| one.0 == other.0)
    {
        let most = told(&beyond.bound, units::ML);
        let limit = format!("{most}, the most that `{}` can be set to", pump.name);
        let message = beyond.told(values, "the volume of the run", &limit, units::ML);
        findings.push(
            context
                .finding(&RULE, run, message)
                .related(
                    context.workspace.place(pump.id, span),
                    "the most that this pump can be set to",
                )
                .note("Hang a smaller bag, or give it in two runs."),
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
}
