#![doc = include_str!("substance.md")]

use std::sync::Arc;

use gutta_notation::StanzaKind;
use gutta_protocol::derive::{At, COMPANIONS, substance_of};
use gutta_protocol::limits::{Breach, judge_substance};
use gutta_protocol::measures::Measures;
use gutta_protocol::model::Library;
use gutta_protocol::model::drug::Drug;
use gutta_protocol::{FileId, StanzaId, Workspace};
use smol_str::SmolStr;

use crate::beyond::Beyond;
use crate::{Check, Finding, OrderContext, Rule, Severity, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.substance",
    severity: Severity::Error,
    locked: true,
    page: include_str!("substance.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let (order, Ok(values)) = (&context.analysis.order, &context.analysis.values) else {
        return;
    };
    let Some(view) = values.views.first() else {
        return;
    };
    let own = order.drug.as_ref().map(|drug| drug.id);
    for (name, kind) in (Measures { order, view }).substances() {
        let file = context.stanza.file;
        for (id, drug) in given_for(context.workspace, context.library, file, &name) {
            if Some(id) == own {
                // Its limits count what else there is of it already.
                continue;
            }
            let judgement = judge_substance(order, values, (id, &drug), (&name, kind));
            if let Some(worst) = worst(&judgement.breaches) {
                findings.extend(report(context, worst, &drug, &name));
            } else if judgement.applied == 0 || !judgement.unchecked.is_empty() {
                findings.push(unchecked(context, id, &drug, &name));
            }
        }
    }
}

/// The high-alert drugs in sight that are given for a substance.
pub(crate) fn given_for(
    workspace: &Workspace,
    library: &Library,
    file: FileId,
    substance: &SmolStr,
) -> Vec<(StanzaId, Arc<Drug>)> {
    if COMPANIONS.contains(&substance.as_str()) {
        return Vec::new();
    }
    let stanzas = workspace.containing(file, substance).into_iter();
    let drugs = stanzas.filter(|id| workspace.stanza(*id).kind == StanzaKind::Drug);
    let drugs = drugs.filter_map(|id| Some((id, Arc::clone(library.drug(id)?))));
    drugs
        .filter(|(_, drug)| drug.high_alert && substance_of(drug, &[]).as_ref() == Some(substance))
        .collect()
}

/// The breach that lies furthest beyond its bound, as a share of it: as it
/// starts, else at the highest step.
fn worst(breaches: &[Breach]) -> Option<&Breach> {
    let starts = |breach: &&Breach| breach.reading.at == At::Start;
    let share = |breach: &Breach| {
        let (value, _) = breach.worst.as_ref()?;
        value.checked_div(&breach.bound.bound)
    };
    let further = |one: &&Breach, other: &&Breach| share(one).cmp(&share(other));
    let at_start = breaches.iter().filter(starts).max_by(further);
    at_start.or_else(|| breaches.iter().max_by(further))
}

fn report(
    context: &OrderContext<'_>,
    breach: &Breach,
    drug: &Drug,
    name: &SmolStr,
) -> Option<Finding> {
    let values = context.analysis.values.as_ref().ok()?;
    let beyond = Beyond::of_breach(breach, values.views.len())?;
    let step = match breach.reading.at {
        At::High => "at the highest step of `adjust` ",
        At::Start | At::Low => "",
    };
    let subject = format!("{step}the {name} that this order gives");
    let bound = telling::bound_told(&breach.bound);
    let message = beyond.told_never(values, &subject, &bound, breach.bound.unit);
    let place = context.workspace.place(breach.drug, breach.bound.span);
    Some(
        context
            .finding(&RULE, breach.reading.span, message)
            .related(place, format!("the limit of {}", drug.name))
            .note("It counts wherever it comes from: give it more slowly, or in a fluid that contains less."),
    )
}

fn unchecked(context: &OrderContext<'_>, id: StanzaId, drug: &Drug, name: &SmolStr) -> Finding {
    let message = format!(
        "This order gives {name}, and no `never dose` or `never total` of {} could be held against it.",
        drug.name
    );
    let place = context
        .workspace
        .place(id, context.workspace.stanza(id).header);
    context
        .finding(&RULE, context.analysis.order.header, message)
        .severity(Severity::Warning)
        .related(place, "a high-alert drug that is given for it")
        .note("State in the drug's stanza how much of it may be given per time; and in the order the patient's weight, where that limit is by weight.")
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    const DRUGS: &str = r#"
use "tarnwick.gtt"

solution saline-kalium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline
  LIMITS
  high-alert
"#;

    fn assert_order(limits: &str, lines: &str) {
        let drugs = DRUGS.replace("LIMITS", limits);
        assert_findings(&format!(
            r#"{drugs}
order maintenance "Maintenance"
  area       ward
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
{lines}"#
        ));
    }

    /// 40 mmol in 2 h are 20 mmol/h, by hand.
    #[test]
    fn a_hung_fluid() {
        assert_order(
            "never dose above 10 mmol/h",
            "  hang       1 L of saline-kalium
  run        all over 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: The potassium that this order gives is 20 mmol/h; never above 10 mmol/h.
  then       stop
",
        );
        assert_order(
            "never dose above 10 mmol/h",
            "  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
",
        );
    }

    /// 250 mL/h, 10 mmol/h, are 0.25 mmol/kg/h at 40 kg, by hand; 0.2 at 50 kg.
    #[test]
    fn by_weight_and_what_is_adjusted() {
        assert_order(
            "never dose above 0.2 mmol/kg/h",
            "  hang       1 L of saline-kalium
  run        all at 100 mL/h
  adjust     50 to 250 mL/h by 50 mL/h every 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: Below 50 kg at the highest step of `adjust` the potassium that this order gives is more than 0.2 mmol/kg/h, the most ever allowed: 0.25 mmol/kg/h at 40 kg.
  then       stop
",
        );
    }

    #[test]
    fn what_nothing_limits_is_said() {
        let drugs = DRUGS.replace("LIMITS", "usual dose 5 to 10 mmol/h");
        assert_findings(&format!(
            r#"{drugs}
order maintenance "Maintenance"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: This order gives potassium, and no `never dose` or `never total` of kalium could be held against it.
  area       ward
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline-kalium
  run        all over 8 h
  then       stop
"#
        ));
    }
}
