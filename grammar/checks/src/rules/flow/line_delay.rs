#![doc = include_str!("line_delay.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, Values};
use gutta_protocol::model::order::Order;
use gutta_quantity::{Exact, units};

use crate::beyond::Beyond;
use crate::flows::{Flow, Flowing, beyond};
use crate::telling::{clock, sentence, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.line-delay",
    severity: Severity::Information,
    locked: false,
    page: include_str!("line_delay.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let style = context.style();
    let bound = &context.workspace.house.line_delay;
    let flows = context.flows();
    let judge = |flow: &Flow| judge(order, values, flow, bound).into_iter().collect();
    for passed in beyond(flows, judge, |(), ()| true) {
        let set = order
            .phases
            .get(passed.flow.phase)
            .and_then(|phase| phase.giving_set.as_ref());
        let Some((set, (volume, span))) =
            set.and_then(|set| Some((set, set.value.priming.as_ref()?)))
        else {
            continue;
        };
        let line = told(volume, units::ML, style);
        let line = format!("to pass through the {line} of `{}`", set.name);
        let limit = format!("the local limit of {}", clock(bound, style));
        let beyond = &passed.beyond;
        let needs = beyond.told_value(units::MIN, style);
        let message = match (beyond.whom(values, style), beyond.patient(values, style)) {
            (Some(whom), Some(at)) => format!(
                "{} the drug takes longer than {limit} {line}: {needs} at {at}.",
                sentence(&whom)
            ),
            _ => format!(
                "The drug takes {needs}{} {line}, longer than {limit}.",
                beyond.with_fixed(values, style).unwrap_or_default()
            ),
        };
        let severity = if order.high_alert {
            Severity::Warning
        } else {
            Severity::Information
        };
        findings.push(
            context
                .finding(&RULE, passed.flow.span, message)
                .severity(severity)
                .related(context.workspace.place(set.id, *span), "what the line holds")
                .note("Until then the patient gets no drug. Prime the line with the mixture (`prime`; this volume leaves the bag), use a line that holds less, or a weaker mixture that runs faster."),
        );
    }
}

/// How long the first drug of a bag needs through a line that was not primed
/// with it.
fn judge(order: &Order, values: &Values, flow: &Flow, bound: &Exact) -> Option<((), Beyond)> {
    let Flowing::Run(0) = flow.of else {
        return None;
    };
    let spec = order.phases.get(flow.phase)?;
    let phase = values.views.get(flow.view)?.phases.get(flow.phase)?;
    phase.bag.drug.as_ref()?;
    if flow.at != At::Start || !phase.fresh {
        return None;
    }
    let (volume, _) = spec.giving_set.as_ref()?.value.priming.as_ref()?;
    let level = |value: &Exact| Curve::constant(flow.flow.span().clone(), value.clone());
    let ahead = match &phase.prime {
        Some(prime) => level(volume).sub(prime)?.max(&level(&Exact::ZERO))?,
        None => level(volume),
    };
    let ahead = phase
        .boluses
        .iter()
        .try_fold(ahead, |ahead, bolus| ahead.sub(&bolus.volume))?;
    Some((
        (),
        Beyond::above(flow.view, &ahead.div(&flow.flow)?, &level(bound))?,
    ))
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    const NORADRENALINE: &str = r#"
use "tarnwick.gtt"

giving-set fine-line "Fine line of a syringe"
  drops      20 per mL
  priming    LINE

order noradrenaline-central "Noradrenaline"
  drug       noradrenaline
  area       adult-icu
  patient    weight 40 to 150 kg
  route      central vein
  pump       syringe
  giving-set fine-line
  mix        4 mg made up to 50 mL with glucose-5
  PRIME
  run        all at 0.06 mcg/kg/min
  then       renew
"#;

    /// Severity and message, where there is a finding.
    fn found(line: &str, prime: &str) -> Option<(&'static str, String)> {
        let text = NORADRENALINE.replace("LINE", line).replace("PRIME", prime);
        findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "flow.line-delay")
            .map(|finding| (finding.severity.word(), finding.message))
    }

    #[test]
    fn a_high_alert_drug_is_a_warning() {
        let message = "Below 66.7 kg the drug takes longer than the local limit of 30 min to pass through the 1.5 mL of `fine-line`: 50 min at 40 kg.";
        assert_eq!(
            found("1.5 mL", "note \"x\""),
            Some(("warning", message.to_owned()))
        );
    }

    #[test]
    fn the_bound_itself_is_allowed() {
        // 0.9 mL at 1.8 mL/h, for 40 kg.
        assert_eq!(found("0.9 mL", "note \"x\""), None);
    }

    #[test]
    fn a_primed_line_holds_nothing_back() {
        assert_eq!(found("1.5 mL", "prime 1.5 mL"), None);
        assert!(found("1.5 mL", "prime 0.5 mL").is_some());
    }

    #[test]
    fn a_plain_fluid_is_no_drug() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-slow "Saline"
  route      peripheral vein
  giving-set long-line
  pump       volumetric
  hang       500 mL of saline
  run        all at 10 mL/h
  then       renew
"#,
        );
    }
}
