#![doc = include_str!("keep_open_drug.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{KeepOpen, View};
use gutta_protocol::measures::{Measures, amount_unit};
use gutta_protocol::model::order::{Order, ThenSpec};
use gutta_protocol::model::size::Form;
use gutta_quantity::print::between;
use gutta_quantity::{Atom, Printed, Unit};

use crate::telling::told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.keep-open-drug",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("keep_open_drug.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    for phase in 0..order.phases.len() {
        // Every view has its say: least and greatest dose of all.
        let mut doses: Option<(Unit, gutta_quantity::Exact, gutta_quantity::Exact)> = None;
        let mut line = None;
        for view in &values.views {
            let keep_open = view
                .phases
                .get(phase)
                .and_then(|phase| phase.keep_open.as_ref());
            let Some(keep_open) = keep_open.filter(|keep_open| keep_open.dose.is_some()) else {
                continue;
            };
            line = Some(keep_open.span);
            let Some((unit, dose)) = dose(order, view, phase, keep_open) else {
                continue;
            };
            if let (Some(low), Some(high)) = (dose.min_value(), dose.max_value()) {
                doses = Some(match doses {
                    Some((unit, known_low, known_high)) => {
                        (unit, known_low.min(low.value), known_high.max(high.value))
                    }
                    None => (unit, low.value, high.value),
                });
            }
        }
        if let Some(span) = line {
            let doses = doses.map(|(unit, low, high)| {
                let style = context.style();
                between(&told(&low, unit, style), &told(&high, unit, style))
            });
            findings.push(report(context, phase, span, doses));
        }
    }
}

fn report(
    context: &OrderContext<'_>,
    phase: usize,
    span: gutta_notation::Span,
    doses: Option<Printed>,
) -> Finding {
    let order = &context.analysis.order;
    let drug = order
        .drug
        .as_ref()
        .map_or("the drug", |drug| drug.value.name.as_str());
    let dose = doses.map_or_else(String::new, |doses| format!(": {doses}"));
    let severity = if order.high_alert {
        Severity::Error
    } else {
        Severity::Warning
    };
    let mut finding = context
        .finding(&RULE, span, format!("The vein is kept open with {drug} itself{dose}."))
        .severity(severity)
        .note("Name a compatible fluid (`keep open … with SOLUTION`), or write `then stop`, or order the drug as a `run` of its own.");
    let hung = order
        .phases
        .get(..=phase)
        .unwrap_or(&[])
        .iter()
        .rev()
        .find_map(|phase| phase.bag.as_ref());
    if let Some(diluent) = hung.and_then(|bag| bag.solution.as_ref())
        && let Some(drug) = &order.drug
        && drug.value.goes_with(&diluent.name)
        && let Some(fix) = with_fluid(context, phase, &diluent.name)
    {
        finding = finding.fix(fix);
    }
    finding
}

/// Keeps the vein open with the diluent, at the same flow; not where the rate
/// is a dose, which a fluid does not have.
fn with_fluid(context: &OrderContext<'_>, phase: usize, diluent: &str) -> Option<crate::Fix> {
    let (ThenSpec::KeepOpen { rate, .. }, _) =
        context.analysis.order.phases.get(phase)?.then.as_ref()?
    else {
        return None;
    };
    if rate.form.drug().is_some() {
        return None;
    }
    let end = gutta_notation::Span::new(rate.span.end, rate.span.end);
    let fix = context.replace(end, format!(" with {diluent}"));
    let flow = context.text(rate.span);
    Some(fix.titled(format!("write `keep open {flow} with {diluent}`")))
}

/// The dose, as the phase's run or the drug is dosed.
fn dose(order: &Order, view: &View, phase: usize, keep_open: &KeepOpen) -> Option<(Unit, Curve)> {
    let drug = view.phases.get(phase)?.bag.drug.as_ref()?;
    let dose = keep_open.dose.as_ref()?;
    let usual = Measures { order, view }.dose_unit(phase, 0);
    let plain = Unit::new(amount_unit(drug.kind).top?).per(Atom::H);
    [usual, plain].into_iter().flatten().find_map(|unit| {
        let form = Form::of(unit.dimension())?;
        Some((unit, view.drug_in_form(order, phase, dose, form)?))
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    /// The fixes for an order of a drug with these lines, mixed with saline.
    fn offered(drug: &str) -> Vec<String> {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug"
  supplied   40 mg in 4 mL
{drug}
order a "A"
  drug       limitamine
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        20 mL at 2 mg/h
  then       keep open 2 mL/h
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "run.keep-open-drug");
        let fixes = found.unwrap().fixes;
        fixes.into_iter().map(|fix| fix.title).collect()
    }

    #[test]
    fn only_a_fluid_that_goes_with_the_drug_is_offered() {
        assert_eq!(
            offered("  with       glucose-5, saline\n"),
            ["write `keep open 2 mL/h with saline`"]
        );
        for unfit in [
            "",
            "  with       glucose-5\n",
            "  not with   saline\n",
            "  with       saline\n  not with   saline\n",
        ] {
            assert_eq!(offered(unfit), [""; 0], "{unfit}");
        }
    }

    #[test]
    fn the_dose_over_the_weights() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order dobutamine-open "Dobutamine"
  drug       dobutamine
  patient    weight 40 to 80 kg
  route      central vein
  pump       syringe
  mix        250 mg made up to 50 mL with glucose-5
  run        40 mL at 5 mcg/kg/min
  then       keep open 0.5 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.keep-open-drug: dobutamine itself: 0.521 to 1.04 mcg/kg/min.
"#,
        );
    }

    #[test]
    fn a_fluid_keeps_it_open() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order dobutamine-open "Dobutamine"
  drug       dobutamine
  patient    weight 40 to 80 kg
  route      central vein
  pump       syringe
  mix        250 mg made up to 50 mL with glucose-5
  run        40 mL at 5 mcg/kg/min
  then       keep open 0.5 mL/h with glucose-5

order saline-open "Saline"
  route      peripheral vein
  pump       volumetric
  hang       500 mL of saline
  run        400 mL at 100 mL/h
  then       keep open 5 mL/h
"#,
        );
    }
}
