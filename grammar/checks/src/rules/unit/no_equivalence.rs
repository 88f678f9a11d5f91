#![doc = include_str!("no_equivalence.md")]

use gutta_notation::Span;
use gutta_protocol::model::drug::{Drug, equivalence};
use gutta_protocol::model::order::{Named, Preparation};
use gutta_protocol::model::problem::ProblemKind;
use gutta_protocol::model::size::DrugKind;

use crate::{Check, Finding, OrderContext, Rule, Severity, problems};

pub(crate) static RULE: Rule = Rule {
    name: "unit.no-equivalence",
    severity: Severity::Error,
    locked: false,
    page: include_str!("no_equivalence.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    for problem in problems::of_order(context) {
        if let ProblemKind::NoEquivalence { from, to } = &problem.kind {
            findings.push(report(context, problem.span, *from, *to));
        }
    }
    undrawable(context, findings);
}

/// A mix that is made up to a volume runs as ordered, but nobody knows how
/// much of what was supplied to draw up for it.
fn undrawable(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    if context.analysis.values.is_err() {
        return;
    }
    let Some(Named { value: drug, .. }) = &order.drug else {
        return;
    };
    let Some(supplied) = &drug.supplied else {
        return;
    };
    for bag in order.phases.iter().filter_map(|phase| phase.bag.as_ref()) {
        let Preparation::MadeUpTo { drug: amount, .. } = &bag.how else {
            continue;
        };
        if let Some(kind) = amount.form.drug()
            && equivalence(Some(drug), kind, supplied.kind).is_none()
        {
            findings.push(report(context, amount.span, kind, supplied.kind));
        }
    }
}

fn report(context: &OrderContext<'_>, span: Span, from: DrugKind, to: DrugKind) -> Finding {
    let written = context.text(span);
    let (from, to) = (counted(from), counted(to));
    let drug = context.analysis.order.drug.as_ref();
    let name = drug.map_or("the drug", |drug| drug.value.name.as_str());
    let message = format!(
        "`{written}` states {name} {from}, but it is needed {to}, and no conversion between the two is stated."
    );
    let finding = context.finding(&RULE, span, message);
    let finding = match drug {
        Some(drug) => finding.related(
            context.workspace.place(drug.id, head(context, drug)),
            "the drug, without an `equals` for the two",
        ),
        None => finding,
    };
    finding.note("State it in the drug's stanza, from the product information (`equals QUANTITY, QUANTITY`). Check which salt it is, and whether the amount is of the salt or of the ion.")
}

/// As what a drug is counted so.
const fn counted(kind: DrugKind) -> &'static str {
    match kind {
        DrugKind::Mass => "as a mass",
        DrugKind::Amount => "as an amount of substance",
        DrugKind::Equivalents => "in equivalents",
        DrugKind::Activity => "in units of activity",
    }
}

/// What it is supplied as, else its header.
fn head(context: &OrderContext<'_>, drug: &Named<Drug>) -> Span {
    match &drug.value.supplied {
        Some(supplied) => supplied.span,
        None => context.workspace.stanza(drug.id).header,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn added_made_up_and_run() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug calcium-gluconate "Calcium gluconate 10 %"
  supplied   1 g in 10 mL

order calcium-added "Calcium"
  drug       calcium-gluconate
  route      central vein
  pump       volumetric
  mix        4.4 mmol added to 50 mL of saline
             ^^^^^^^^ unit.no-equivalence: `4.4 mmol` states calcium-gluconate as an amount of substance, but it is needed as a mass, and no conversion between the two is stated.
  run        all over 60 min
  then       stop

order calcium-made-up "Calcium"
  drug       calcium-gluconate
  route      central vein
  pump       volumetric
  mix        4.4 mmol made up to 50 mL with saline
             ^^^^^^^^ unit.no-equivalence
  run        all over 60 min
  then       stop

order calcium-run "Calcium"
  drug       calcium-gluconate
  route      central vein
  pump       volumetric
  mix        2 g made up to 50 mL with saline
  run        all at 4 mmol/h
                    ^^^^^^^^ unit.no-equivalence
  then       stop
"#,
        );
    }

    #[test]
    fn what_equals_ties() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order magnesium-amount "Magnesium"
  drug       magnesium-sulfate
  route      central vein
  pump       volumetric
  mix        16 mmol added to 100 mL of saline
  run        all at 16 mmol/h
  then       stop
"#,
        );
    }
}
