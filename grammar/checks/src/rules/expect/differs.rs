#![doc = include_str!("differs.md")]

use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::derive::{Disallowed, Patient, Values, View, derive, disallowed};
use gutta_protocol::measures::{Measures, Question, Value, ValueOf, measure_name};
use gutta_protocol::model::order::{Expectation, Order};
use gutta_protocol::working::Working;
use gutta_quantity::{Exact, Printed, Quantity, Rounding, Style};

use super::as_written::as_written;
use crate::telling::patient;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "expect.differs",
    severity: Severity::Error,
    locked: false,
    page: include_str!("differs.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Ok(values) = &context.analysis.values else {
        return;
    };
    // Several examples may be of one patient.
    let mut alone: Vec<(Patient, Option<Values>)> = Vec::new();
    for expectation in &order.expects {
        let views = if expectation.weight.is_some() || expectation.surface.is_some() {
            // One patient; the range of the order is not asked.
            if let Some(outside) = outside(order, expectation, context.style()) {
                findings.push(context.finding(&RULE, expectation.value_span, outside));
                continue;
            }
            let patient = Patient {
                weight: expectation.weight.clone(),
                surface: expectation.surface.clone(),
            };
            let known = alone.iter().position(|(other, _)| *other == patient);
            let known = known.unwrap_or_else(|| {
                let values = derive(order, &patient).ok();
                alone.push((patient, values));
                alone.len() - 1
            });
            match alone.get(known) {
                Some((_, Some(values))) => &values.views,
                _ => continue,
            }
        } else {
            &values.views
        };
        if let Some(outside) = no_setting(order, views, expectation, context.style()) {
            findings.push(context.finding(&RULE, expectation.value_span, outside));
            continue;
        }
        let answers = views
            .iter()
            .map(|view| (view, answers(order, view, expectation)));
        let answers: Vec<_> = answers.collect();
        let verdict = answers
            .iter()
            .find_map(|(view, of)| judge(context, view, of, &values.views, expectation));
        let answered = answers.iter().any(|(_, of)| !of.is_empty());
        if let Some(phase) = &expectation.phase {
            let known = order
                .phases
                .iter()
                .any(|other| other.name.as_ref() == Some(&phase.value));
            // That the order has no such phase is `name.unknown`'s.
            if !known {
                continue;
            }
        }
        // A word that no `contains` declares is `name.unknown`'s.
        let unknown = matches!(
            &expectation.measure.value,
            ExpectMeasure::Substance(name)
                if context.workspace.containing(context.stanza.file, name).is_empty()
        );
        if !answered && unknown {
            continue;
        }
        if !answered {
            let name = measure_name(&expectation.measure.value);
            let message = format!(
                "Nothing in this order has a {name} that could be given in {}.",
                context.style().unit(expectation.value.unit)
            );
            findings.push(
                context
                    .finding(&RULE, expectation.value_span, message)
                    .note("Write the example for a value that the order has; `gutta derive` lists them all."),
            );
            continue;
        }
        if let Some(verdict) = verdict {
            findings.push(report(context, expectation, verdict));
        }
    }
}

/// A weight or surface that the order does not cover.
fn outside(order: &Order, expectation: &Expectation, style: Style) -> Option<String> {
    let checks = [
        (
            &expectation.weight,
            &order.weight,
            "weight",
            gutta_quantity::units::KG,
        ),
        (
            &expectation.surface,
            &order.surface,
            "surface",
            gutta_quantity::units::M2,
        ),
    ];
    checks.into_iter().find_map(|(asked, covered, word, unit)| {
        let asked = asked.as_ref()?;
        let told = style.quantity(&Quantity::new(asked.clone(), unit));
        let Some(covered) = covered else {
            return Some(format!(
                "The example is for {told}, and the order states no patient {word}."
            ));
        };
        (!covered.reaches(asked))
            .then(|| format!("The example is for {told}, a {word} that the order does not cover."))
    })
}

/// A setting that no phase the example speaks of may be adjusted to. An order
/// that may not be adjusted can still be asked what it would be with another.
fn no_setting(
    order: &Order,
    views: &[View],
    expectation: &Expectation,
    style: Style,
) -> Option<String> {
    let setting = expectation.dose.as_ref()?;
    let name = expectation.phase.as_ref().map(|phase| &phase.value);
    let asked = |phase: usize| {
        let spec = order.phases.get(phase);
        name.is_none() || spec.is_some_and(|spec| spec.name.as_ref() == name)
    };
    let found = disallowed(order, views, setting);
    let outside = |why: &Disallowed<'_>, phase: usize| matches!(why, Disallowed::Outside(of, _) if *of == phase);
    let adjusted = |phase: &usize| {
        let of_phase = |view: &View| {
            view.runs()
                .any(|(of, run)| of == *phase && view.adjusted(order, of, run.index).is_some())
        };
        asked(*phase) && views.iter().any(of_phase)
    };
    let mut phases = (0..order.phases.len()).filter(adjusted).peekable();
    let nowhere =
        phases.peek().is_some() && phases.all(|phase| found.iter().any(|why| outside(why, phase)));
    let why = found.iter().find(|why| match why {
        Disallowed::Outside(phase, _) => nowhere && asked(*phase),
        Disallowed::NoRun => true,
        Disallowed::NoAdjust => false,
    })?;
    Some(format!(
        "The example is at {}, {}.",
        style.quantity(&setting.quantity()),
        why.told(order, style)
    ))
}

/// Every value that the example speaks of.
fn answers(order: &Order, view: &View, expectation: &Expectation) -> Vec<Value> {
    let measures = Measures { order, view };
    let question = Question {
        measure: &expectation.measure.value,
        per_day: expectation.per_day,
        dose: expectation.dose.as_ref(),
        unit: Some(expectation.value.unit),
    };
    let mut values = measures.answer(&question);
    if let Some(phase) = &expectation.phase {
        let index = order
            .phases
            .iter()
            .position(|other| other.name.as_ref() == Some(&phase.value));
        values.retain(|value| value.phase.is_none() || value.phase == index);
    }
    values
}

struct Verdict {
    value: Option<Exact>,
    shown: String,
    patient: Option<Printed>,
    steps: Vec<String>,
}

/// The first value that is not the one written, with a patient for whom it is
/// not. Rounding is monotone, so a curve rounds to one number throughout if
/// its least and its greatest value do.
fn judge(
    context: &OrderContext<'_>,
    view: &View,
    answers: &[Value],
    all: &[View],
    expectation: &Expectation,
) -> Option<Verdict> {
    let order = &context.analysis.order;
    answers.iter().enumerate().find_map(|(index, value)| {
        let wrong = places(view, value)?.into_iter().find(|(found, _)| {
            !found
                .as_ref()
                .is_some_and(|found| holds(found, expectation))
        })?;
        let (found, x) = wrong;
        let working = Working {
            order,
            view,
            x: &x,
            dose: expectation.dose.as_ref(),
            style: context.style(),
        };
        let steps = working.steps(value);
        let shown = match &found {
            Some(found) => shown(found, context, expectation),
            None => "no value (it has no end, or the pump cannot run it)".to_owned(),
        };
        Some(Verdict {
            value: found,
            shown,
            patient: patient(view, &x, context.style())
                .filter(|_| depends_on_patient(order, all, expectation, index)),
            steps,
        })
    })
}

/// Where a value is least and most, or else wherever it may turn.
fn places(view: &View, value: &Value) -> Option<Vec<(Option<Exact>, Exact)>> {
    Some(match &value.value {
        ValueOf::Exact(curve) => {
            let (least, most) = (curve.min_value()?, curve.max_value()?);
            vec![(Some(least.value), least.x), (Some(most.value), most.x)]
        }
        _ => value
            .turns(view)
            .into_iter()
            .map(|x| (value.at(&x), x))
            .collect(),
    })
}

/// Whether one patient of the order has another value than another.
fn depends_on_patient(
    order: &Order,
    views: &[View],
    expectation: &Expectation,
    index: usize,
) -> bool {
    let mut values = views.iter().flat_map(|view| {
        let value = answers(order, view, expectation).into_iter().nth(index);
        let places = value.and_then(|value| places(view, &value));
        places
            .unwrap_or_default()
            .into_iter()
            .map(|(value, _)| value)
    });
    let first = values.next();
    values.any(|value| first.as_ref() != Some(&value))
}

/// Whether a value, rounded half up at the last digit written, is the one
/// written.
fn holds(found: &Exact, expectation: &Expectation) -> bool {
    let found = Quantity::from_base(found.clone(), expectation.value.unit).value;
    let digit = Exact::ten_to(-i32::from(expectation.decimals));
    found.round_to(&digit, Rounding::HalfUp) == expectation.value.value
}

/// The value, and what the example should say of it.
fn shown(found: &Exact, context: &OrderContext<'_>, expectation: &Expectation) -> String {
    let unit = expectation.value.unit;
    let style = context.style();
    let quantity = Quantity::from_base(found.clone(), unit);
    let exact = style.quantity_exact(&quantity);
    let exact = exact
        .unwrap_or_else(|| style.quantity(&quantity))
        .to_string();
    let written = context.text(expectation.value_span);
    let rounded = as_written(found, unit, expectation.decimals, written, style);
    // `714.3 min` says no more to whoever has written `11 h 54 min`.
    let by_the_clock = written.split_whitespace().count() > 2;
    if exact == rounded || by_the_clock {
        return rounded;
    }
    format!("{exact} ({rounded} to the digits written)")
}

/// What was measured, before its value: `a flow of`.
fn measured(measure: &ExpectMeasure) -> String {
    match measure {
        ExpectMeasure::Drops => "a drip of".to_owned(),
        ExpectMeasure::Fluid => "fluid of".to_owned(),
        ExpectMeasure::Substance(name) => format!("`{name}` of"),
        other => format!("a {} of", measure_name(other)),
    }
}

fn report(context: &OrderContext<'_>, expectation: &Expectation, verdict: Verdict) -> Finding {
    let measured = measured(&expectation.measure.value);
    let at = verdict
        .patient
        .map_or_else(String::new, |patient| format!(" at {patient}"));
    let written = context.text(expectation.value_span);
    let message = format!(
        "The example says {measured} {written}; the order gives {}{at}.",
        verdict.shown
    );
    let mut finding = context.finding(&RULE, expectation.value_span, message);
    if !verdict.steps.is_empty() {
        finding = finding.note(format!("Working{at}: {}.", verdict.steps.join("; ")));
    }
    if let Some(value) = verdict.value {
        let (unit, decimals) = (expectation.value.unit, expectation.decimals);
        let text = as_written(&value, unit, decimals, written, context.style());
        finding = finding.fix(context.replace(expectation.value_span, text));
    }
    finding.note("Find out which of the two is wrong before either is changed.")
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// What the example is told to be.
    fn said(run: &str, expect: &str) -> String {
        let text = format!(
            r#"
use "tarnwick.gtt"

order dobutamine-open "Dobutamine"
  drug       dobutamine
  patient    weight 40 to 80 kg
  route      central vein
  pump       syringe
  mix        250 mg made up to 50 mL with glucose-5
  run        all at {run}
  then       renew
  expect     {expect}
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "expect.differs");
        found.unwrap().message
    }

    #[test]
    fn the_patient_is_named_where_the_value_varies() {
        assert_eq!(
            said("5 mcg/kg/min", "flow 3.0 mL/h at 40 kg"),
            "The example says a flow of 3.0 mL/h; the order gives 2.4 mL/h at 40 kg."
        );
        assert_eq!(
            said("10 mg/h", "flow 3.0 mL/h at 40 kg"),
            "The example says a flow of 3.0 mL/h; the order gives 2 mL/h (2.0 mL/h to the digits written)."
        );
        assert_eq!(
            said("5 mcg/kg/min", "strength 4 mg/mL"),
            "The example says a strength of 4 mg/mL; the order gives 5 mg/mL."
        );
    }

    /// 50 mL at 4.2 mL/h: 11.905 h, by hand.
    #[test]
    fn a_value_without_end_is_told_as_people_write_it() {
        assert_eq!(
            said("5 mcg/kg/min", "time 12 h 42 min at 70 kg"),
            "The example says a time of 12 h 42 min; the order gives 11 h 54 min at 70 kg."
        );
        assert_eq!(
            said("5 mcg/kg/min", "time 1 h at 70 kg"),
            "The example says a time of 1 h; the order gives 11.9 h (12 h to the digits written) \
             at 70 kg."
        );
    }

    #[test]
    fn a_setting_that_adjust_does_not_allow() {
        let adjusted = "5 mcg/kg/min\n  adjust     2 to 10 mcg/kg/min by 1 mcg/kg/min every 10 min";
        assert_eq!(
            said(adjusted, "flow 3.0 mL/h at 40 kg at 20 mcg/kg/min"),
            "The example is at 20 mcg/kg/min, outside what `adjust` allows: 2 to 10 mcg/kg/min."
        );
        assert_eq!(
            said(adjusted, "flow 3.0 mL/h at 40 kg at 10 mcg/kg/min"),
            "The example says a flow of 3.0 mL/h; the order gives 4.8 mL/h at 40 kg."
        );
    }
}
