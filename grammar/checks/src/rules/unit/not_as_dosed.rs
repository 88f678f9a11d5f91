#![doc = include_str!("not_as_dosed.md")]

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::limits::holds;
use gutta_protocol::model::drug::{Drug, equivalence};
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
/// hold for this phase: what is dosed so is dosed as its reference has it. Of an
/// order that cannot be reckoned any may hold.
fn limited_in(context: &OrderContext<'_>, phase: &Phase) -> Vec<Unit> {
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else {
        return Vec::new();
    };
    let holds = |bound: &LimitBound| {
        let Ok(values) = &context.analysis.values else {
            return true;
        };
        values.views.iter().any(|view| {
            let (when, except) = (&bound.when, &bound.except);
            let held = holds(order, phase, &view.patients, false, when, except);
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
        "{} is dosed in {}, but this line states only the flow of the fluid.",
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
        .note("If the strength is changed, the same flow gives another dose. State the dose, and the flow is calculated from it.")
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
        format!("{name} is dosed in {dosed_in}, but `{written}` is in {found}.")
    } else {
        format!("{name} is dosed in {dosed_in}, but this line is in {found}.")
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
        None => finding.note("Write the dose in that unit. It is not offered here, because it depends on the patient or its decimals do not end."),
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
mod tests;
