#![doc = include_str!("not_enough.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Action, Phase, View};
use gutta_protocol::model::order::{Order, Phase as PhaseSpec, ThenSpec, WhatSpec};
use gutta_quantity::{Exact, units};

use crate::beyond::{Beyond, furthest};
use crate::lines::line_at;
use crate::overfilled;
use crate::telling::{sentence, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.not-enough",
    severity: Severity::Error,
    locked: false,
    page: include_str!("not_enough.md"),
    check: Check::Order(check),
};

/// What a bag does not suffice for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum For {
    /// A stated volume or amount.
    Stated,
    /// `all`, or a drug kept open, when nothing is left.
    Rest,
    /// Its own drug: more than it is to be made up to.
    Drug,
}

/// A bag that does not suffice.
struct Short {
    what: For,
    span: Span,
    /// The phase that hung the bag.
    bag: usize,
    beyond: Beyond,
}

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let mut found = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        overfilled(order, view, index, &mut found);
        Balance { order, view, index }.of_bags(&mut found);
    }
    let worst = furthest(
        found,
        |short| &mut short.beyond,
        |one, other| (one.what, one.bag, one.span) == (other.what, other.bag, other.span),
    );
    for short in worst {
        let (beyond, style) = (&short.beyond, context.style());
        let bag = told(&beyond.bound, units::ML, style);
        let missing = told(&beyond.excess(), units::ML, style);
        let (message, advice) = match short.what {
            For::Stated => {
                let limit = format!("the {bag} in it");
                let message = beyond.told(
                    values,
                    "what is to be given from the bag",
                    &limit,
                    units::ML,
                    style,
                );
                (
                    format!("{message} Missing: {missing}."),
                    "Use a larger bag, run less of it (or `all`), or go on with the next one (`then renew`).",
                )
            }
            For::Rest => {
                let nothing = "nothing is left in the bag for this line";
                let message = match beyond.whom(values, style) {
                    Some(whom) => format!("{} {nothing}.", sentence(&whom)),
                    None => format!("{}.", sentence(nothing)),
                };
                (message, "Use a larger bag, or take less from it before.")
            }
            For::Drug => {
                let message = overfilled::told(beyond, values, style);
                (message, "Make it up to a larger volume, or use less drug.")
            }
        };
        let span = line_at(context, short.span).map_or(short.span, |line| line.span);
        let mut finding = context.finding(&RULE, span, message);
        let bag = order
            .phases
            .get(short.bag)
            .and_then(|phase| phase.bag.as_ref());
        if let Some(bag) = bag.filter(|_| short.what != For::Drug) {
            finding = finding.related(context.place(bag.span), "the bag");
        }
        findings.push(finding.note(advice));
    }
}

/// Bags whose drug is more than they are to be made up to.
fn overfilled(order: &Order, view: &View, index: usize, found: &mut Vec<Short>) {
    for (phase, derived) in view
        .phases
        .iter()
        .enumerate()
        .filter(|(_, phase)| phase.fresh)
    {
        let beyond = overfilled::beyond(&derived.bag, index);
        let spec = order.phases.get(phase).and_then(|phase| phase.bag.as_ref());
        if let (Some(beyond), Some(spec)) = (beyond, spec) {
            found.push(Short {
                what: For::Drug,
                span: spec.span,
                bag: phase,
                beyond,
            });
        }
    }
}

/// What leaves each bag, line by line.
struct Balance<'a> {
    order: &'a Order,
    view: &'a View,
    index: usize,
}

impl Balance<'_> {
    /// The first line of each bag that it does not suffice for.
    fn of_bags(&self, found: &mut Vec<Short>) {
        let mut out = None;
        let mut told = None;
        for (spec, phase) in self.order.phases.iter().zip(&self.view.phases) {
            if phase.fresh {
                out = None;
            }
            let before = out
                .take()
                .unwrap_or_else(|| self.view.patients.constant(Exact::ZERO));
            let (short, after) = self.of_phase(spec, phase, before);
            out = after;
            let bag = phase.bag.phase;
            if let Some(short) = short.filter(|_| told != Some(bag)) {
                told = Some(bag);
                found.push(short);
            }
        }
    }

    /// The first line that the bag does not suffice for, and what has left it
    /// at the end of the phase.
    fn of_phase(
        &self,
        spec: &PhaseSpec,
        phase: &Phase,
        before: Curve,
    ) -> (Option<Short>, Option<Curve>) {
        let bag = &phase.bag.volume;
        let mut out = before;
        let mut short = None;
        let mut note = |what, span, beyond: Option<Beyond>| {
            if let (None, Some(beyond)) = (&short, beyond) {
                short = Some(Short {
                    what,
                    span,
                    bag: phase.bag.phase,
                    beyond,
                });
            }
        };
        let stated =
            |out: &_| Beyond::above(self.index, out, bag).filter(|_| !self.next_follows(phase));
        let mut leaves: Vec<(Span, Option<&Curve>)> = Vec::new();
        if let (Some(prime), Some(size)) = (&phase.prime, &spec.prime) {
            leaves.push((size.span, Some(prime)));
        }
        for action in &phase.sequence {
            match *action {
                Action::Bolus(at) => leaves.extend(
                    phase
                        .boluses
                        .get(at)
                        .map(|bolus| (bolus.span, Some(&bolus.volume))),
                ),
                Action::Run(at) => {
                    let all = matches!(
                        spec.runs.get(at).and_then(|run| run.what.as_ref()),
                        Some(WhatSpec::All(_))
                    );
                    leaves.extend(
                        phase
                            .runs
                            .get(at)
                            .map(|run| (run.span, (!all).then_some(&run.volume))),
                    );
                }
            }
        }
        for (span, volume) in leaves {
            match volume {
                Some(volume) => {
                    let Some(sum) = out.add(volume) else {
                        return (short, None);
                    };
                    out = sum;
                    note(For::Stated, span, stated(&out));
                }
                None => {
                    note(For::Rest, span, Beyond::not_below(self.index, &out, bag));
                    out = bag.clone();
                }
            }
        }
        if let Some(keep_open) = phase
            .keep_open
            .as_ref()
            .filter(|keep_open| keep_open.dose.is_some())
        {
            note(
                For::Rest,
                keep_open.span,
                Beyond::not_below(self.index, &out, bag),
            );
        }
        (short, Some(out))
    }

    /// Whether the next bag follows this one: `then renew` at the order's end.
    fn next_follows(&self, phase: &Phase) -> bool {
        let last_bag = self.view.phases.last().map(|last| last.bag.phase);
        let then = self.order.phases.last().and_then(|last| last.then.as_ref());
        last_bag == Some(phase.bag.phase) && matches!(then, Some((ThenSpec::Renew(_), _)))
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn the_whole_bag_is_enough() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-whole "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  prime      20 mL
  bolus      80 mL over 10 min
  run        400 mL over 4 h
  then       stop

order saline-one-too-much "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  prime      20 mL
  bolus      80 mL over 10 min
  run        401 mL over 4 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: What is to be given from the bag is 501 mL, more than the 500 mL in it. Missing: 1 mL.
  then       stop

order saline-renewed "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        501 mL over 4 h
  then       renew
"#,
        );
    }

    #[test]
    fn from_which_weight_on() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-by-weight "Saline"
  patient    weight 40 to 60 kg
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        10 mL/kg over 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: Above 50 kg what is to be given from the bag is more than the 500 mL in it: 600 mL at 60 kg. Missing: 100 mL.
  then       stop
"#,
        );
    }

    #[test]
    fn nothing_left_for_the_rest() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-by-weight "Saline"
  patient    weight 40 to 50 kg
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  bolus      10 mL/kg over 1 h
  run        all at 100 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: At 50 kg nothing is left in the bag for this line.
  then       stop

order pantoprazole-lid "Pantoprazole"
  drug       pantoprazole
  patient    weight 20 to 50 kg
  route      central vein
  pump       volumetric
  mix        40 mg made up to 50 mL with saline
  bolus      1 mg/kg over 30 min, at most 40 mg
  run        all at 8 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: From 40 kg on nothing is left in the bag for this line.
  then       stop

order saline-over-time "Saline"
  patient    weight 40 to 60 kg
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  bolus      10 mL/kg over 1 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: Above 50 kg what is to be given from the bag is more than the 500 mL in it
  run        all over 10 h
  ^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump: Above 49.5 kg the flow is less than 0.5 mL/h
  then       stop

order midazolam-open "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 5 mg/h
  then       keep open 1 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.keep-open-drug
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: Nothing is left in the bag for this line.
"#,
        );
    }

    #[test]
    fn a_phase_goes_on_with_the_bag_above() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-two-rates "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  phase      first
    run      300 mL over 1 h
  phase      second
    run      201 mL over 4 h
    ^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: Missing: 1 mL.
  then       stop
"#,
        );
    }

    #[test]
    fn more_drug_than_it_is_made_up_to() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order pantoprazole-small "Pantoprazole"
  drug       pantoprazole
  patient    weight 10 to 40 kg
  route      central vein
  pump       syringe
  mix        4 mg/kg made up to 20 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.not-enough: Above 20 kg the volume of the drug by itself is more than the 20 mL to which it is to be made up: 40 mL at 40 kg.
  run        all over 30 min
  then       stop
"#,
        );
    }
}
