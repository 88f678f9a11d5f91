#![doc = include_str!("by_weight.md")]

use gutta_protocol::model::order::Preparation;
use gutta_protocol::model::size::Per;

use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.by-weight",
    severity: Severity::Information,
    locked: false,
    page: include_str!("by_weight.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    for bag in context
        .analysis
        .order
        .phases
        .iter()
        .filter_map(|phase| phase.bag.as_ref())
    {
        let (Preparation::MadeUpTo { drug, .. } | Preparation::AddedTo { drug, .. }) = &bag.how
        else {
            continue;
        };
        let of = match drug.form.per {
            Per::Patient => continue,
            Per::Weight => "weight",
            Per::Surface => "body surface area",
        };
        findings.push(
            context
                .finding(&RULE, bag.span, format!("The strength of the bag depends on the {of}: it is different for every patient."))
                .note("Where possible, keep one strength for all patients, and state the dose per kg or m2 in the run."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn by_surface_too() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-surface "Cefuroxime"
  drug       cefuroxime
  patient    surface 1 to 2 m2
  route      central vein
  mix        500 mg/m2 made up to 50 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.by-weight: on the body surface area
  run        all over 30 min
  then       stop
"#,
        );
    }
}
