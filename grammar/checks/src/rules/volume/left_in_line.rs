#![doc = include_str!("left_in_line.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Phase, View};
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::{LimitBound, Side, TotalOver};
use gutta_protocol::model::order::{Order, Phase as PhaseSpec, ThenSpec};
use gutta_quantity::{Exact, Rounding, units};

use crate::beyond::{Beyond, furthest};
use crate::lines::insert_below;
use crate::telling::{sentence, told};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.left-in-line",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("left_in_line.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let share = &context.workspace.house.left_in_line;
    let mut found = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        for (phase, spec) in order.phases.iter().enumerate() {
            if ends_here(order, phase, spec) {
                let beyond = left(view, index, phase, spec, share);
                found.extend(beyond.map(|beyond| (phase, beyond)));
            }
        }
    }
    for (phase, beyond) in furthest(found, |found| &mut found.1, |one, other| one.0 == other.0) {
        if let Some(steady) = steady(order, phase) {
            findings.extend(not_to_be_pushed(context, phase, steady));
            continue;
        }
        let Some(spec) = order.phases.get(phase) else {
            continue;
        };
        let (Some(run), Some(set)) = (spec.runs.last(), &spec.giving_set) else {
            continue;
        };
        let Some((volume, span)) = &set.value.priming else {
            continue;
        };
        let style = context.style();
        let parts = |share: &Exact| {
            format!(
                "{} %",
                style.decimal_significant(&(share * &Exact::int(100)), 2, Rounding::HalfUp)
            )
        };
        let line = told(volume, units::ML, style);
        let left = format!("stays in the {line} of `{}`", set.name);
        let flush = if spec.flushes.is_empty() {
            "no `flush` follows"
        } else {
            "the `flush` is too small to give it"
        };
        let message = match (beyond.whom(values, style), beyond.patient(values, style)) {
            (Some(whom), Some(at)) => format!(
                "{} more than {} of the dose {left}, and {flush}: {} at {at}.",
                sentence(&whom),
                parts(share),
                parts(&beyond.value)
            ),
            _ => format!("{} of the dose {left}, and {flush}.", parts(&beyond.value)),
        };
        let mut finding = context
            .finding(&RULE, run.span, message)
            .related(
                context.workspace.place(set.id, *span),
                "what the line holds",
            )
            .note("Flush with a compatible fluid, no faster than the run itself: the flush gives the drug that is in the line. Or use a line that holds less.");
        if let Some(diluent) = spec_bag(order, phase).and_then(|bag| bag.solution.as_ref())
            && let Some(drug) = &order.drug
            && spec.flushes.is_empty()
            && !is_paced(&drug.value)
            && drug.value.goes_with(&diluent.name)
        {
            let flush = format!("flush      {line} with {}", diluent.name);
            finding = finding.fix(insert_below(context, run.span, &flush));
        }
        findings.push(finding);
    }
}

fn spec_bag(order: &Order, phase: usize) -> Option<&gutta_protocol::model::order::BagSpec> {
    let hung = order.phases.get(..=phase)?;
    hung.iter().rev().find_map(|phase| phase.bag.as_ref())
}

/// The drug of a phase that is given steadily, by its dose per time, with no
/// amount that is to arrive: what its line holds is not part of a dose, and
/// pushed in at once it would be a bolus.
fn steady(order: &Order, phase: usize) -> Option<&Drug> {
    let run = order.phases.get(phase)?.runs.last()?;
    let drug = &*order.drug.as_ref()?.value;
    let by_amount = drug.limits.iter().any(|limit| {
        limit.measure == LimitMeasure::SingleDose
            || (limit.measure == LimitMeasure::Total && limit.over == TotalOver::Order)
    });
    let of_dose = |limit: &LimitBound| limit.measure == LimitMeasure::Dose;
    let by_rate = drug.dosed_in.is_some() || drug.limits.iter().any(of_dose);
    let steady = run.is_dosed() || (by_rate && !by_amount);
    (steady && run.every.is_none()).then_some(drug)
}

/// Whether a limit of the drug is one of its speed: a flush, which has none,
/// is then not offered.
fn is_paced(drug: &Drug) -> bool {
    use LimitMeasure as M;
    let of_speed = |limit: &LimitBound| match limit.measure {
        M::Dose | M::Flow | M::BolusRate => limit.side == Side::High,
        M::Time | M::BolusTime => limit.side == Side::Low,
        _ => false,
    };
    drug.high_alert || drug.limits.iter().any(of_speed)
}

/// What a steady drug leaves in the line, for whoever takes it down.
fn not_to_be_pushed(context: &OrderContext<'_>, phase: usize, drug: &Drug) -> Option<Finding> {
    let spec = context.analysis.order.phases.get(phase)?;
    let (run, set) = (spec.runs.last()?, spec.giving_set.as_ref()?);
    let (volume, span) = set.value.priming.as_ref()?;
    if !spec.flushes.is_empty() {
        return None;
    }
    let line = told(volume, units::ML, context.style());
    let name = &drug.name;
    let message = format!(
        "At the end the {line} of `{}` still contain {name} that the patient does not get.",
        set.name
    );
    let note = format!(
        "Do not flush it in: {name} is given continuously, and what is in the line would be a bolus. Take the line down, or draw the drug back; anything run through this line later pushes it in first."
    );
    let place = context.workspace.place(set.id, *span);
    let finding = context.finding(&RULE, run.span, message);
    let finding = finding.severity(Severity::Information);
    Some(finding.related(place, "what the line holds").note(note))
}

/// Whether what is in the line then is given up: the order ends, or the run
/// is one giving of several. Another phase, the next bag, or whatever keeps
/// the vein open pushes it on.
fn ends_here(order: &Order, phase: usize, spec: &PhaseSpec) -> bool {
    let repeats = spec.runs.last().is_some_and(|run| run.every.is_some());
    let is_last = phase + 1 == order.phases.len();
    let goes_on = matches!(
        spec.then,
        Some((ThenSpec::Renew(_) | ThenSpec::KeepOpen { .. }, _))
    );
    repeats || (is_last && !goes_on)
}

/// The share of what the bag gives that stays in the line, where it is too
/// much. A line that was primed with the mixture holds what never was part of
/// the dose.
fn left(
    view: &View,
    index: usize,
    phase: usize,
    spec: &PhaseSpec,
    share: &Exact,
) -> Option<Beyond> {
    let derived = view.phases.get(phase)?;
    derived.bag.drug.as_ref()?;
    derived.runs.last()?;
    let (volume, _) = spec.giving_set.as_ref()?.value.priming.as_ref()?;
    let level = |value: &Exact| Curve::constant(view.patients.interval.clone(), value.clone());
    let flushed = derived
        .flushes
        .iter()
        .chain(primed(view, phase))
        .try_fold(level(volume), |left, pushed| left.sub(pushed))?;
    let stays = flushed.max(&level(&Exact::ZERO))?;
    let given = given(view, phase, derived)?;
    Beyond::above(index, &stays.div(&given)?, &level(share))
}

/// The priming from the bag that hangs in this phase.
fn primed(view: &View, phase: usize) -> Option<&Curve> {
    of_this_bag(view, phase).find_map(|phase| phase.prime.as_ref())
}

/// What the bag of this phase gives in all.
fn given(view: &View, phase: usize, derived: &Phase) -> Option<Curve> {
    let none = derived.left.scale(&Exact::ZERO);
    of_this_bag(view, phase)
        .flat_map(|phase| {
            let boluses = phase.boluses.iter().map(|bolus| &bolus.volume);
            boluses.chain(phase.runs.iter().map(|run| &run.volume))
        })
        .try_fold(none, |sum, volume| sum.add(volume))
}

fn of_this_bag(view: &View, phase: usize) -> impl Iterator<Item = &Phase> {
    let hung = view.phases.get(phase).map(|phase| phase.bag.phase);
    let so_far = view.phases.get(..=phase).unwrap_or(&[]);
    so_far
        .iter()
        .filter(move |other| Some(other.bag.phase) == hung)
}

#[cfg(test)]
mod tests {
    use crate::Severity;
    use crate::harness::findings;

    fn found(prime: &str, run: &str, after: &str) -> Vec<String> {
        let text = format!(
            r#"
use "tarnwick.gtt"

giving-set ward-line "Giving set of the ward pump"
  drops      20 per mL
  priming    5 mL

order cefuroxime-dose "Cefuroxime"
  drug       cefuroxime
  route      central vein
  pump       volumetric
  giving-set ward-line
  mix        1.5 g made up to 60 mL with saline
{prime}
  run        {run}
{after}
"#
        );
        findings(&text)
            .into_iter()
            .filter(|finding| finding.rule.name == "volume.left-in-line")
            .map(|finding| finding.message)
            .collect()
    }

    const STOP: &str = "  then       stop";

    /// The fixes for an order of a drug with these lines, mixed with saline.
    fn offered(drug: &str, flush: &str) -> Vec<String> {
        let text = format!(
            r#"
use "tarnwick.gtt"

giving-set ward-line "Giving set of the ward pump"
  drops      20 per mL
  priming    20 mL

drug limitamine "A drug"
  supplied   40 mg in 4 mL
{drug}
order a "A"
  drug       limitamine
  route      central vein
  giving-set ward-line
  mix        40 mg made up to 50 mL with saline
  run        all over 30 min
{flush}  then       stop
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "volume.left-in-line")
            .unwrap();
        assert_eq!(
            found.message.contains("no `flush` follows"),
            flush.is_empty()
        );
        let fixes = found.fixes;
        fixes.into_iter().map(|fix| fix.title).collect()
    }

    #[test]
    fn only_a_fluid_that_goes_with_the_drug_is_offered() {
        assert_eq!(
            offered("  with       saline\n", ""),
            ["insert `flush      20 mL with saline`"]
        );
        for unfit in ["", "  with       glucose-5\n", "  not with   saline\n"] {
            assert_eq!(offered(unfit, ""), [""; 0], "{unfit}");
        }
        let short = "  flush      2 mL with saline\n";
        assert_eq!(offered("  with       saline\n", short), [""; 0]);
    }

    #[test]
    fn no_flush_is_offered_where_a_limit_is_of_speed() {
        for limit in [
            "never time below 30 min",
            "never bolus rate above 50 mg/min",
            "high-alert",
        ] {
            let drug = format!("  with       saline\n  {limit}\n");
            assert_eq!(offered(&drug, ""), [""; 0], "{limit}");
        }
    }

    /// The finding on a steady drug's line, with its notes.
    fn steady(drug: &str, run: &str) -> Vec<(Severity, String)> {
        let text = format!(
            r#"
use "tarnwick.gtt"

giving-set ward-line "Giving set of the ward pump"
  priming    20 mL

drug limitamine "A drug"
  supplied   40 mg in 4 mL
  with       saline
{drug}
order a "A"
  drug       limitamine
  route      central vein
  giving-set ward-line
  mix        40 mg made up to 50 mL with saline
  run        {run}
  then       stop
"#
        );
        let found = findings(&text).into_iter();
        let found = found.filter(|finding| finding.rule.name == "volume.left-in-line");
        let said = |finding: crate::Finding| {
            assert!(finding.fixes.is_empty());
            (
                finding.severity,
                finding.message + " " + &finding.notes.join(" "),
            )
        };
        found.map(said).collect()
    }

    #[test]
    fn a_steady_drug_is_not_to_be_pushed() {
        for (drug, run) in [
            ("  dosed in   mg/h\n", "all at 2 mg/h"),
            ("  dosed in   mg/h\n", "all at 2 mL/h"),
            ("  never dose above 4 mg/h\n", "all over 24 h"),
        ] {
            let said = steady(drug, run);
            assert_eq!(said.len(), 1, "{drug}{run}");
            assert_eq!(said[0].0, Severity::Information);
            let message = "At the end the 20 mL of `ward-line` still contain limitamine that the patient does not get. Do not flush it in:";
            assert!(said[0].1.starts_with(message), "{}", said[0].1);
        }
        let of_one_dose = "  never dose above 4 mg/min\n  usual single dose 20 to 60 mg\n";
        let said = steady(of_one_dose, "all over 30 min");
        assert_eq!(said.len(), 1);
        assert_eq!(said[0].0, Severity::Warning);
    }

    #[test]
    fn the_share_itself_is_allowed() {
        assert_eq!(found("", "50 mL over 30 min", STOP), [""; 0]);
        assert_eq!(
            found("", "49 mL over 30 min", STOP),
            ["10 % of the dose stays in the 5 mL of `ward-line`, and no `flush` follows."]
        );
    }

    #[test]
    fn what_pushes_it_on() {
        for after in [
            "  flush      5 mL with saline\n  then       stop",
            "  flush      1 mL with saline\n  then       stop",
            "  then       renew",
            "  then       keep open 5 mL/h with saline",
        ] {
            assert_eq!(found("", "40 mL over 30 min", after), [""; 0], "{after}");
        }
        assert_eq!(
            found("  prime      5 mL", "40 mL over 30 min", STOP),
            [""; 0]
        );
        assert_eq!(
            found("", "40 mL over 30 min every 8 h for 3 doses", "").len(),
            1
        );
    }
}
