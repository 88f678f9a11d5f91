#![doc = include_str!("lid_always.md")]

use gutta_protocol::derive::Values;
use gutta_protocol::model::size::{Form, Per, Size};
use gutta_quantity::{Exact, Printed, Style};

use super::caps::{Cap, caps};
use crate::telling::{patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.lid-always",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("lid_always.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for Cap { size, cap, .. } in caps(&context.analysis.order) {
        let Some(message) = always(values, size, cap, context.style()) else {
            continue;
        };
        findings.push(
            context
                .finding(&RULE, cap.span, message)
                .related(context.place(size.span), "the number that is never used")
                .note(
                    "Check whether this number is right. If only the maximum is meant, write just that amount.",
                ),
        );
    }
}

/// The cap holds for every patient of the range; `None` where it does not, or
/// the two are not counted alike.
fn always(values: &Values, size: &Size, cap: &Size, style: Style) -> Option<String> {
    let whole = |per: Per| Form { per, ..size.form };
    if size.form.per == Per::Patient || cap.form != whole(Per::Patient) {
        return None;
    }
    let mut least: Option<(Exact, Option<Printed>)> = None;
    for view in &values.views {
        let uncapped = view.patients.whole(size)?.min_value()?;
        if uncapped.value <= cap.value {
            return None;
        }
        if least
            .as_ref()
            .is_none_or(|(known, _)| uncapped.value < *known)
        {
            least = Some((uncapped.value, patient(view, &uncapped.x, style)));
        }
    }
    let (least, at) = least?;
    let at = at.map_or_else(String::new, |at| format!(" already at {at}"));
    let least = told(&least, cap.unit, style);
    let [size, cap] = [size, cap].map(|size| style.quantity(&size.quantity()));
    Some(format!(
        "The maximum of {cap} applies to every patient: {size} is {least}{at}, so the number by weight is never used."
    ))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn lids_of_bags_boluses_and_doses() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order pantoprazole-bolus "Pantoprazole"
  drug       pantoprazole
  patient    weight 50 to 100 kg
  route      central vein
  mix        80 mg made up to 100 mL with saline
  bolus      10 mg/kg over 15 min, at most 40 mg
                                           ^^^^^ run.lid-always: The maximum of 40 mg applies to every patient: 10 mg/kg is 500 mg already at 50 kg, so the number by weight is never used.
  run        all over 30 min
  then       stop

order pantoprazole-lidded "Pantoprazole"
  drug       pantoprazole
  patient    weight 50 to 100 kg
  route      central vein
  mix        20 mg/kg, at most 80 mg, made up to 100 mL with saline
                               ^^^^^ run.lid-always: 20 mg/kg is 1000 mg already at 50 kg
  run        all over 30 min
  then       stop

order pantoprazole-right "Pantoprazole"
  drug       pantoprazole
  patient    weight 50 to 100 kg
  route      central vein
  mix        1 mg/kg, at most 80 mg, made up to 100 mL with saline
  run        all over 30 min
  then       stop
"#,
        );
    }
}
