#![doc = include_str!("not_as_dosed.md")]

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::equivalence;
use gutta_protocol::limits::holds;
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::LimitBound;
use gutta_protocol::model::order::{Named, Phase, StepsSpec, ThenSpec, WaySpec};
use gutta_protocol::model::size::{Form, Size, Stuff};
use gutta_quantity::{Quantity, Unit};

use crate::finding::TextEdit;
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "unit.not-as-dosed",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("not_as_dosed.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    let Some((unit, span)) = drug.value.dosed_in else {
        return;
    };
    let mut seen: Vec<Span> = Vec::new();
    // A load is stated by its amount and its rate, not as the drug is dosed.
    for phase in order.phases.iter().filter(|phase| !phase.is_loading()) {
        for flow in plain_flows(phase) {
            if !seen.contains(&flow.span) {
                seen.push(flow.span);
                findings.push(as_a_flow(context, drug, unit, span, flow));
            }
        }
        let limited = limited_in(context, phase);
        let known = |of: Unit| same(of, unit) || limited.iter().any(|limit| same(of, *limit));
        for doses in doses(phase) {
            let Some(first) = doses.iter().find(|dose| !known(dose.unit)) else {
                continue;
            };
            if !seen.contains(&first.span) {
                seen.push(first.span);
                let units = std::iter::once(unit).chain(limited.iter().copied());
                let as_dosed = AsDosed {
                    units: units.collect(),
                    span,
                };
                findings.push(report(context, drug, &as_dosed, first, &doses));
            }
        }
    }
}

/// The units that the drug's limits of its dose are stated in, of those that may
/// hold for this phase: what is dosed so is dosed as its reference has it.
fn limited_in(context: &OrderContext<'_>, phase: &Phase) -> Vec<Unit> {
    let order = &context.analysis.order;
    let (Some(drug), Ok(values)) = (&order.drug, &context.analysis.values) else {
        return Vec::new();
    };
    let holds = |bound: &LimitBound| {
        let mut views = values.views.iter();
        views.any(|view| {
            let held = holds(
                order,
                phase,
                &view.patients,
                false,
                &bound.when,
                &bound.except,
            );
            !held.over.is_empty()
        })
    };
    let limits = drug.value.limits.iter();
    let of_dose = limits.filter(|bound| bound.measure == LimitMeasure::Dose && holds(bound));
    of_dose.map(|bound| bound.unit).collect()
}

/// How a drug is dosed.
struct AsDosed {
    /// In its own unit, and in those of its limits.
    units: Vec<Unit>,
    /// Where the first is stated.
    span: Span,
}

/// The doses of a phase, line by line.
fn doses(phase: &Phase) -> Vec<Vec<&Size>> {
    let runs = phase.runs.iter().map(|run| {
        let rates = run.ways.iter().filter_map(|way| match way {
            WaySpec::At(rate) => Some(rate),
            WaySpec::Over(_) => None,
        });
        rates.collect()
    });
    let adjust = phase.adjust.iter().map(|adjust| match &adjust.steps {
        StepsSpec::By { low, high, step } => vec![low, high, step],
        StepsSpec::List(list) => list.iter().collect(),
    });
    let keep_open = phase.then.iter().filter_map(|(then, _)| match then {
        ThenSpec::KeepOpen { rate, .. } => Some(vec![rate]),
        ThenSpec::Stop | ThenSpec::Renew(_) => None,
    });
    let lines = runs.chain(adjust).chain(keep_open);
    lines
        .map(|line: Vec<&Size>| {
            line.into_iter()
                .filter(|size| size.form.drug().is_some())
                .collect()
        })
        .collect()
}

/// Rates of a phase that are plain flows, of runs that no dose sets.
fn plain_flows(phase: &Phase) -> Vec<&Size> {
    let of_flow = |size: &&Size| size.form.stuff == Stuff::Volume && size.form.rate;
    let runs = phase.runs.iter().filter(|run| !run.is_dosed());
    let ways = runs.flat_map(|run| &run.ways).filter_map(|way| match way {
        WaySpec::At(rate) => Some(rate),
        WaySpec::Over(_) => None,
    });
    let steps = phase.adjust.iter().filter_map(|adjust| adjust.steps.high());
    ways.chain(steps).filter(of_flow).collect()
}

/// A drug that is dosed, and run as a fluid: told for information.
fn as_a_flow(
    context: &OrderContext<'_>,
    drug: &Named<Drug>,
    unit: Unit,
    span: Span,
    flow: &Size,
) -> Finding {
    let message = format!(
        "{} is dosed in {}, and this line says only how fast the fluid flows.",
        drug.value.name,
        context.style().unit(unit)
    );
    context
        .finding(&RULE, flow.span, message)
        .severity(Severity::Information)
        .related(
            context.workspace.place(drug.id, span),
            "the unit that the drug is dosed in",
        )
        .note("After a change of strength the same flow is another dose. State the dose, and the flow follows from it.")
}

/// `mcg/kg/min` and `mcg/min/kg` are one unit.
fn same(one: Unit, other: Unit) -> bool {
    one.commensurable(other) && one.factor() == other.factor()
}

fn report(
    context: &OrderContext<'_>,
    drug: &Named<Drug>,
    as_dosed: &AsDosed,
    first: &Size,
    line: &[&Size],
) -> Finding {
    let (unit, span) = (as_dosed.units[0], as_dosed.span);
    let written = context.text(first.span);
    let name = &drug.value.name;
    let style = context.style();
    let (dosed_in, found) = (style.unit(unit), style.unit(first.unit));
    let message = if written.contains(' ') {
        format!("{name} is dosed in {dosed_in}, and `{written}` is in {found}.")
    } else {
        format!("{name} is dosed in {dosed_in}, and this line is in {found}.")
    };
    let finding = context.finding(&RULE, first.span, message).related(
        context.workspace.place(drug.id, span),
        "the unit that the drug is dosed in",
    );
    let units = as_dosed.units.iter();
    let fix = units.filter_map(|unit| Some((*unit, converted(context, &drug.value, *unit, line)?)));
    match fix.into_iter().next() {
        Some((of, fix)) if of == unit => finding.note("Write the same dose in that unit.").fix(fix),
        Some((of, fix)) => finding
            .note(format!(
                "Write the same dose in {}, as its limits are.",
                style.unit(of)
            ))
            .fix(fix),
        None => finding.note("Write the dose in that unit. It depends on the patient, or its decimals do not end, so it is not offered here."),
    }
}

/// The doses of the line in the drug's unit, exactly; `None` where one cannot
/// be written so.
fn converted(context: &OrderContext<'_>, drug: &Drug, unit: Unit, line: &[&Size]) -> Option<Fix> {
    let form = Form::of(unit.dimension())?;
    let mut edits = Vec::with_capacity(line.len());
    let mut told = Vec::with_capacity(line.len());
    for dose in line.iter().filter(|dose| !same(dose.unit, unit)) {
        if dose.form.per != form.per {
            return None;
        }
        let factor = equivalence(Some(drug), dose.form.drug()?, form.drug()?)?;
        let dose_told = Quantity::from_base(&dose.value * &factor, unit);
        let dose_told = context.style().quantity_exact(&dose_told)?;
        let old = context.text(dose.span);
        // The first end of a range and all but the last of a list may leave
        // the unit to what follows.
        let text = if old.contains(' ') {
            dose_told.to_string()
        } else {
            dose_told.number
        };
        told.push(format!("{text} instead of {old}"));
        edits.push(TextEdit {
            place: context.place(dose.span),
            text,
        });
    }
    let (first, rest) = told.split_first()?;
    let rest = if rest.is_empty() {
        ""
    } else {
        ", and the rest of the line"
    };
    let fix = Fix {
        title: String::new(),
        edits,
        spelling: false,
        doses: None,
    };
    Some(fix.titled(format!("write {first}{rest}")))
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings, fixed};

    #[test]
    fn runs_and_adjustments() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order midazolam-steady "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mg/h
  adjust     1 to 5 mg/h by 1 mg/h every 1 h
  then       renew

order midazolam-by-weight "Midazolam"
  drug       midazolam
  patient    weight 40 to 60 kg
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 0.05 mg/kg/h
                    ^^^^^^^^^^^^ unit.not-as-dosed: midazolam is dosed in mg/h, and `0.05 mg/kg/h` is in mg/kg/h.
  then       renew
"#,
        );
    }

    /// A drug with limits of its dose by weight, for children alone, and of what
    /// counts all of it in g.
    const LIMITED: &str = r#"
use "tarnwick.gtt"

area children "Children"
  patient    weight 10 to 40 kg

area adults "Adults"
  patient    weight 40 to 60 kg

drug limitamine "A drug with limits"
  dosed in   mg/h
  supplied   50 mg in 10 mL
  with       saline
  usual dose 1 to 10 mg/h in adults
  usual dose 0.05 to 0.2 mg/kg/h in children
  never dose above 0.24 g/day

order limitamine-steady "Limitamine"
  drug       limitamine
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
"#;

    #[test]
    fn a_unit_of_the_drugs_own_limits_is_known() {
        for (area, dose) in [
            ("children", "0.1 mg/kg/h"),
            ("children", "2 mg/h"),
            ("adults", "0.12 g/day"),
        ] {
            assert_findings(&format!(
                "{LIMITED}  area       {area}\n  run        all at {dose}\n  then       renew\n"
            ));
        }
        assert_findings(&format!(
            "{LIMITED}  area       adults\n  run        all at 0.1 mg/kg/h\n                    ^^^^^^^^^^^ unit.not-as-dosed\n  then       renew\n"
        ));
    }

    /// 2 mcg/kg/min are 0.12 mg/kg/h, by hand.
    #[test]
    fn a_dose_is_offered_in_the_unit_of_its_limits() {
        let text = format!(
            "{LIMITED}  area       children\n  run        all at 2 mcg/kg/min\n  then       renew\n"
        );
        let found = findings(&text);
        let mut found = found.iter();
        let finding = found.find(|finding| finding.rule.name == "unit.not-as-dosed");
        let finding = finding.unwrap();
        assert!(finding.notes[0].contains("in mg/kg/h"), "{finding:?}");
        let fixed = fixed(&text, &finding.fixes[0]);
        assert!(fixed.contains("all at 0.12 mg/kg/h"), "{fixed}");
    }

    #[test]
    fn every_dose_of_the_line_is_converted() {
        let text = r#"
use "tarnwick.gtt"

order midazolam-steady "Midazolam"
  drug       midazolam
  route      central vein
  pump       syringe
  mix        50 mg made up to 50 mL with saline
  run        all at 3 mg/h
  adjust     0.05 to 0.1 mg/min by 0.05 mg/min every 1 h
  then       renew
"#;
        let found = findings(text);
        let finding = found
            .iter()
            .find(|finding| finding.rule.name == "unit.not-as-dosed")
            .unwrap();
        let fixed = fixed(text, &finding.fixes[0]);
        assert!(
            fixed.contains("adjust     3 to 6 mg/h by 3 mg/h every 1 h"),
            "{fixed}"
        );
        assert!(
            findings(&fixed)
                .iter()
                .all(|finding| finding.rule.name != "unit.not-as-dosed")
        );
    }

    #[test]
    fn a_plain_flow_is_told() {
        let text = |run: &str| {
            format!(
                r#"
use "tarnwick.gtt"

order heparin-steady "Heparin"
  drug       heparin
  route      central vein
  pump       syringe
  mix        20,000 units made up to 50 mL with saline
  run        {run}
  then       renew
"#
            )
        };
        let found = |run| -> Vec<_> {
            let found = findings(&text(run)).into_iter();
            let found = found.filter(|finding| finding.rule.name == "unit.not-as-dosed");
            found
                .map(|finding| (finding.severity, finding.message))
                .collect()
        };
        let message =
            "heparin is dosed in units/h, and this line says only how fast the fluid flows.";
        assert_eq!(
            found("all at 2.5 mL/h"),
            [(crate::Severity::Information, message.to_owned())]
        );
        assert_eq!(found("all at 1,000 units/h"), []);
        assert_eq!(found("all at 1,000 units/h over 20 h"), []);
    }

    #[test]
    fn a_load_is_not_dosed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order midazolam-load "Midazolam"
  drug       midazolam
  purpose    loading
  route      central vein
  pump       syringe
  mix        5 mg made up to 50 mL with saline
  run        all at 0.25 mg/min
  then       stop
"#,
        );
    }
}
