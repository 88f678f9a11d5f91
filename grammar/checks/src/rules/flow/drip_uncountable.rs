#![doc = include_str!("drip_uncountable.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::Setting;
use gutta_protocol::derive::Values;
use gutta_protocol::model::order::{Named, Order};
use gutta_protocol::model::reference::GivingSet;
use gutta_protocol::model::size::Stuff;
use gutta_quantity::{Exact, units};

use crate::beyond::Beyond;
use crate::flows::{Flow, Flowing, beyond};
use crate::telling::told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "flow.drip-uncountable",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("drip_uncountable.md"),
    check: Check::Order(check),
};

/// A side of what can be counted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Slow,
    Fast,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let house = &context.workspace.house;
    let style = house.style;
    let flows = context.flows();
    let judge = |flow: &Flow| judge(order, values, flow, &house.drops_low, &house.drops_high);
    for passed in beyond(flows, judge, |one, other| one == other) {
        let (bound, advice) = match passed.bound {
            Side::Slow => (
                &house.drops_low,
                "a giving set with smaller drops, a faster flow",
            ),
            Side::Fast => (
                &house.drops_high,
                "a giving set with larger drops, a slower flow",
            ),
        };
        let bound = told(bound, units::DROPS_PER_MIN, style);
        let subject = passed.flow.subject(order).replacen("flow", "drip rate", 1);
        let limit = format!("can be counted by eye ({bound})");
        let message = passed
            .beyond
            .told(values, &subject, &limit, units::DROPS_PER_MIN, style);
        let mut finding = context.finding(&RULE, passed.flow.span, message);
        if let Some((set, drops)) = giving_set(order, passed.flow.phase) {
            let place = context.workspace.place(set.id, drops.1);
            finding = finding.related(place, "the drops per mL of this giving set");
        }
        findings.push(finding.note(format!("Choose {advice}, or a pump.")));
    }
}

fn giving_set(
    order: &Order,
    phase: usize,
) -> Option<(&Named<GivingSet>, &(Exact, gutta_notation::Span))> {
    let set = order.phases.get(phase)?.giving_set.as_ref()?;
    Some((set, set.value.drops.as_ref()?))
}

/// Drops are counted where no pump counts them.
fn judge(
    order: &Order,
    values: &Values,
    flow: &Flow,
    low: &Exact,
    high: &Exact,
) -> Vec<(Side, Beyond)> {
    let Some((_, (drops, _))) = giving_set(order, flow.phase) else {
        return Vec::new();
    };
    if !by_eye(order, values, flow) {
        return Vec::new();
    }
    let drip = flow.flow.scale(drops);
    let level = |value: &Exact| Curve::constant(drip.span().clone(), value.clone());
    let slow = Beyond::below(flow.view, &drip, &level(low)).map(|beyond| (Side::Slow, beyond));
    let fast = Beyond::above(flow.view, &drip, &level(high)).map(|beyond| (Side::Fast, beyond));
    slow.into_iter().chain(fast).collect()
}

fn by_eye(order: &Order, values: &Values, flow: &Flow) -> bool {
    let gravity = order
        .phases
        .get(flow.phase)
        .is_some_and(|phase| phase.pump.is_none());
    let run = match flow.of {
        Flowing::Run(run) => values
            .views
            .get(flow.view)
            .and_then(|view| view.phases.get(flow.phase)?.runs.get(run)),
        Flowing::KeepOpen => None,
        // Pushed by hand, where no pump gives it.
        Flowing::Bolus(_) => return false,
    };
    let by_drops = run.is_some_and(|run| match &run.setting {
        Setting::Rate(size) => size.form.stuff == Stuff::Drops,
        Setting::Time => false,
    });
    gravity || by_drops
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_bounds_themselves_can_be_counted() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-fast "Saline"
  route      peripheral vein
  hang       500 mL of saline
  giving-set micro
  run        all at 150 drops/min
  then       stop

order saline-slow "Saline"
  route      peripheral vein
  hang       50 mL of saline
  giving-set macro
  run        all at 5 drops/min
  then       stop
"#,
        );
    }

    #[test]
    fn too_fast_and_too_slow() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-fast "Saline"
  route      peripheral vein
  hang       500 mL of saline
  giving-set micro
  run        all at 151 drops/min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.drip-uncountable: The drip rate is 151 drops/min, more than can be counted by eye (150 drops/min).
  then       stop

order saline-by-weight "Saline"
  patient    weight 5 to 20 kg
  route      peripheral vein
  hang       100 mL of saline
  giving-set macro
  run        all at 2 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.drip-uncountable: Below 7.5 kg the drip rate is less than can be counted by eye (5 drops/min): 3 drops/min at 5 kg.
  then       stop
"#,
        );
    }

    #[test]
    fn a_pump_counts_for_itself() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-fast "Saline"
  route      peripheral vein
  hang       500 mL of saline
  pump       volumetric
  giving-set micro
  run        all at 200 mL/h
  then       stop
"#,
        );
    }
}
