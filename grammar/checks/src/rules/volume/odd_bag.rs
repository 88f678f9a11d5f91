#![doc = include_str!("odd_bag.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, View};
use gutta_protocol::model::order::{Order, Preparation, ThenSpec};
use gutta_quantity::{Exact, Style, units};

use crate::telling::{clock, patient, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.odd-bag",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("odd_bag.md"),
    check: Check::Order(check),
};

/// The largest bag, in mL.
const LARGEST: i64 = 5_000;

/// The least that is hung as a fluid, in mL.
const LEAST: i64 = 10;

/// The least time from bag to bag, in minutes.
const SHORTEST: i64 = 5;

/// The longest that a bag lasts, in minutes: a week.
const LONGEST: i64 = 7 * 24 * 60;

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    for (phase, spec) in order.phases.iter().enumerate() {
        let Some(bag) = &spec.bag else { continue };
        let mut views = values.views.iter();
        let Some(message) = views.find_map(|view| odd(order, view, phase, context.style())) else {
            continue;
        };
        findings.push(context.finding(&RULE, bag.span, message).note(
            "Check whether mL and L, the point and the flow are right; if this bag is meant, waive this with the reason.",
        ));
    }
}

/// What is odd about the bag of a phase.
fn odd(order: &Order, view: &View, phase: usize, style: Style) -> Option<String> {
    let spec = order.phases.get(phase)?;
    let prepared = &spec.bag.as_ref()?.how;
    let derived = view.phases.get(phase)?;
    let bag = &derived.bag;
    let ml = |value: &Exact| told(value, units::ML, style);
    let most = bag.volume.max_value()?;
    if most.value > Exact::int(LARGEST) {
        let largest = ml(&Exact::int(LARGEST));
        let most = ml(&most.value);
        return Some(format!(
            "The bag holds {most}; bags larger than {largest} are not made."
        ));
    }
    if matches!(prepared, Preparation::Fluid { .. }) && most.value < Exact::int(LEAST) {
        let most = ml(&most.value);
        return Some(format!("The whole bag of fluid holds only {most}."));
    }
    if let (Preparation::AddedTo { .. }, Some(diluent), Some(drug)) =
        (prepared, &bag.diluent, &bag.drug)
        && let Some(draw) = &drug.draw
    {
        let tenth = draw.sub(&diluent.scale(&Exact::int(10)))?.min_value()?;
        if tenth.value.is_positive() {
            let (draw, diluent) = (ml(&draw.at(&tenth.x)?), ml(&diluent.at(&tenth.x)?));
            return Some(format!(
                "{draw} of the drug is added to only {diluent} of diluent, which hardly dilutes it."
            ));
        }
    }
    let repeats = spec.runs.iter().any(|run| run.every.is_some());
    let run = derived.runs.last().filter(|_| !repeats)?;
    let lasts = bag.volume.div(&run.flow)?;
    let renewed = matches!(spec.then, Some((ThenSpec::Renew(_), _)));
    let shortest = lasts.min_value()?;
    if renewed && shortest.value < Exact::int(SHORTEST) {
        let time = clock(&shortest.value, style);
        let at = at(view, &lasts, &shortest.x, style);
        return Some(format!("A bag lasts only {time}{at}, and is renewed."));
    }
    // At every weight: a bag for the heaviest lasts the lightest long. One that
    // is changed hangs no longer than that, and a flow that may be raised
    // empties it sooner.
    let later = order.phases.get(phase + 1..)?.iter();
    let changed = std::iter::once(spec)
        .chain(later.take_while(|later| later.bag.is_none()))
        .find_map(|phase| phase.change_bag.as_ref());
    if changed.is_some_and(|changed| changed.value <= Exact::int(LONGEST)) {
        return None;
    }
    let fastest = |phase: usize, run: usize| {
        let start = view.flow_of(order, phase, run, At::Start)?;
        view.flow_of(order, phase, run, At::High)?.max(&start)
    };
    let first = view.life_with(phase, fastest)?.time;
    let next = view.succession_with(order, phase, fastest);
    let hangs = match next.filter(|_| renewed) {
        Some(next) => first.max(&next.lasts)?,
        None => first,
    };
    let longest = Exact::int(LONGEST);
    let told = |lasts: &Curve| {
        let shortest = lasts.min_value()?;
        let time = clock(&shortest.value, style);
        let at = at(view, lasts, &shortest.x, style);
        (shortest.value > longest)
            .then(|| format!("{time}{at}: no bag is hung for more than a week."))
    };
    if let Some(told) = told(&hangs) {
        return Some(format!("The bag lasts {told}"));
    }
    // The next bag takes the place of what is left. Where none does, so slow a
    // flow is odd from so large a bag, however little is run.
    let mut later = order.phases.get(phase + 1..)?.iter();
    if later.any(|later| later.bag.is_some()) {
        return None;
    }
    let last = derived.runs.len().checked_sub(1)?;
    let whole = bag.volume.div(&fastest(phase, last)?)?;
    told(&whole).map(|told| format!("At this flow the bag would last {told}"))
}

fn at(view: &View, curve: &Curve, x: &Exact, style: Style) -> String {
    match patient(view, x, style) {
        Some(at) if curve.is_constant().is_none() => format!(" at {at}"),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn each_way_in_which_a_bag_is_odd() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litres "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       500 L of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: The bag holds 500,000 mL; bags larger than 5000 mL are not made.
  run        500 mL over 4 h
  then       stop

order saline-drop "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 mL of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: The whole bag of fluid holds only 1 mL.
  run        all over 1 h
  then       stop

order cefuroxime-neat "Cefuroxime"
  drug       cefuroxime
  route      peripheral vein
  mix        1.5 g added to 1 mL of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: 15 mL of the drug is added to only 1 mL of diluent, which hardly dilutes it.
  run        all over 30 min
  then       stop

order saline-flood "Sodium chloride 0.9 %"
  patient    weight 50 to 100 kg
  route      peripheral vein
  hang       50 mL of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: A bag lasts only 3 min at 100 kg, and is renewed.
  run        all at 10 mL/kg/h
  then       renew

order saline-changed "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  run        all at 125 mL/day
  change bag every 24 h
  then       renew

order saline-raised "Sodium chloride 0.9 %, slow at first"
  route      peripheral vein
  hang       1 L of saline
  run        all at 5 mL/h
  adjust     5 to 50 mL/h by 5 mL/h every 1 h
  then       renew

order saline-changed-late "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: The bag lasts 8 days: no bag is hung for more than a week.
  run        all at 125 mL/day
  change bag every 200 h
  then       renew

order saline-between "Sodium chloride 0.9 %, while another bag is made ready"
  drug       cefuroxime
  route      peripheral vein
  phase      first
    mix      1.5 g made up to 50 mL with saline
    run      all over 30 min
  phase      between
    hang     1 L of saline
    run      40 mL over 16 h
  phase      second
    mix      1.5 g made up to 50 mL with saline
    run      all over 30 min
  then       stop

order saline-little "Sodium chloride 0.9 %, a hundredth of what was meant"
  route      peripheral vein
  hang       500 mL of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: At this flow the bag would last 25 days: no bag is hung for more than a week.
  run        5 mL over 6 h
  then       stop

order saline-on-and-on "Sodium chloride 0.9 %, slower in the end"
  route      peripheral vein
  phase      first
    hang     500 mL of saline
    ^^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: The bag lasts 10 days 1 h: no bag is hung for more than a week.
    run      20 mL over 1 h
  phase      second
    run      all at 2 mL/h
  then       stop

order saline-trickle "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  ^^^^^^^^^^^^^^^^^^^^^^^^ volume.odd-bag: The bag lasts 8 days: no bag is hung for more than a week.
  run        all at 125 mL/day
  then       renew
"#,
        );
    }
}
