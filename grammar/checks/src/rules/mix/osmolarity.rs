#![doc = include_str!("osmolarity.md")]

use gutta_notation::Span;
use gutta_notation::ast::Route;
use gutta_protocol::derive::osmoles::of_solution;
use gutta_protocol::model::order::{Answer, BagSpec, Named};
use gutta_protocol::model::reference::Solution;
use gutta_quantity::{Exact, Quantity, Style, units};

use crate::telling::{sentence, told_apart, whom};
use crate::words::WORKED_OUT;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.osmolarity",
    severity: Severity::Error,
    locked: false,
    page: include_str!("osmolarity.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let (order, style) = (&context.analysis.order, context.style());
    let bound = Quantity::new(
        context.workspace.house.peripheral_osmolarity.clone(),
        units::MOSM_PER_L,
    )
    .base();
    for (index, spec) in order.phases.iter().enumerate() {
        let (route, label) = match &spec.route {
            Answer::Is(route) if route.value == Route::PeripheralVein => {
                (route.span, "by this route")
            }
            Answer::Any(span) => (*span, "a peripheral vein too"),
            Answer::Is(_) | Answer::Unanswered => continue,
        };
        let strong = |at: Span, message: String, worked_out: bool| {
            let finding = context
                .finding(&RULE, at, message)
                .related(context.place(route), label)
                .note("The limit is the hospital's own (`peripheral-osmolarity` in `gutta.toml`). Use a central vein, or a weaker mixture.");
            match worked_out {
                true => finding.note(WORKED_OUT),
                false => finding,
            }
        };
        for fluid in spec.beside_the_bag() {
            let osmoles = of_solution(&fluid.value);
            if osmoles.least > bound {
                let stated = fluid.value.osmolarity.is_some();
                let value = at_least(stated, &osmoles.least, &bound, style);
                let message = format!("{} has {value}, {}.", fluid.name, allowed(&bound, style));
                findings.push(strong(fluid.span.unwrap_or(spec.span), message, !stated));
            }
        }
        let Some(bag) = &spec.bag else { continue };
        let found = values.views.iter().find_map(|view| {
            let osmolarity = view.osmolarity(order, index)?;
            let stated = osmolarity.most.as_ref() == Some(&osmolarity.least);
            let least = osmolarity.least;
            let regions = least.where_above(&view.patients.constant(bound.clone()))?;
            let most = least.max_value()?.value;
            let varies = least.is_constant().is_none();
            let whom = whom(view, &regions, style).filter(|_| varies);
            (!regions.is_empty()).then_some((whom, most, stated))
        });
        if let Some((whom, most, stated)) = found {
            let value = at_least(stated, &most, &bound, style);
            let allowed = allowed(&bound, style);
            let message = match whom {
                Some(whom) => format!("{} the bag has {allowed}: up to {value}.", sentence(&whom)),
                None => format!("The bag has {value}, {allowed}."),
            };
            findings.push(strong(bag.span, message, !stated));
        } else if let Some(solution) = undecided(bag, &bound) {
            let message = format!(
                "The osmolarity of {} is not stated, and its contents do not show whether the bag is within the local limit of {} for a peripheral vein.",
                solution.name,
                style.quantity(&Quantity::from_base(bound.clone(), units::MOSM_PER_L))
            );
            findings.push(
                context
                    .finding(&RULE, bag.span, message)
                    .severity(Severity::Information)
                    .related(context.place(route), label)
                    .note("State its `osmolarity`, from the label."),
            );
        }
    }
}

fn allowed(bound: &Exact, style: Style) -> String {
    let limit = style.quantity(&Quantity::from_base(bound.clone(), units::MOSM_PER_L));
    format!("more than the local limit of {limit} for a peripheral vein")
}

fn at_least(stated: bool, value: &Exact, bound: &Exact, style: Style) -> String {
    let value = told_apart(value, bound, units::MOSM_PER_L, style);
    match stated {
        true => value.to_string(),
        false => format!("at least {value}"),
    }
}

/// The solution of a bag that may be too strong by what it contains, and does
/// not say. One that contains nothing at all, as water, is not.
fn undecided<'a>(bag: &'a BagSpec, bound: &Exact) -> Option<&'a Named<Solution>> {
    let solution = bag.solution.as_ref()?;
    let osmoles = of_solution(&solution.value);
    let empty = solution.value.contains.is_empty();
    let kept = osmoles.most.is_some_and(|most| most <= *bound);
    (!empty && !kept).then_some(solution)
}

#[cfg(test)]
mod tests {
    use crate::Severity;
    use crate::harness::{assert_findings, findings};

    /// What is told of a bag, and the label on its route.
    fn said(route: &str, bag: &str) -> (String, String) {
        let text = format!(
            r#"
use "tarnwick.gtt"

solution glucose-20 "Glucose 20 %"
  contains   glucose 200 mg/mL
  osmolarity 1,110 mOsm/L

drug limitamine "A drug"
  supplied   40 mg in 4 mL
  with       glucose-20
  osmolarity 100 mOsm/L

order a "A"
  patient    weight 40 to 80 kg
  route      {route}
  {bag}
  run        all over 10 h
  then       stop
"#
        );
        let mut found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "mix.osmolarity")
            .unwrap();
        (found.message, found.related.remove(0).message)
    }

    #[test]
    fn weights_are_told_where_it_varies() {
        let (message, label) = said("peripheral vein", "hang 500 mL of glucose-20");
        assert_eq!(
            message,
            "The bag has 1110 mOsm/L, more than the local limit of 900 mOsm/L for a peripheral vein."
        );
        assert_eq!(label, "by this route");
        let (message, label) = said(
            "any",
            "drug limitamine\n  mix 2 mg/kg made up to 50 mL with glucose-20",
        );
        assert_eq!(
            message,
            "Below 52 kg the bag has more than the local limit of 900 mOsm/L for a peripheral vein: up to 948 mOsm/L."
        );
        assert_eq!(label, "a peripheral vein too");
    }

    #[test]
    fn what_is_not_stated_is_worked_out() {
        assert_findings(
            r#"
use "tarnwick.gtt"

solution glucose-strong "Glucose 50 %"
  contains   glucose 50 %

solution dextrose-thirty "Dextrose, strong"
  contains   dextrose 300 mg/mL

solution salt-strong "Strong saline"
  contains   sodium 0.513 mmol/mL
  contains   chloride 0.513 mmol/mL

solution glucose-twelve "Glucose, somewhat strong"
  contains   glucose 120 mg/mL

drug bicarbonate "Sodium bicarbonate 8.4 %"
  supplied   100 mmol in 100 mL

drug dextrose-amp "Dextrose 50 %"
  supplied   25 g in 50 mL
  never dose       above 15 g/h
  never osmolarity above 1,000 mOsm/L by peripheral vein

order hung "Glucose by a hand vein"
  route      peripheral vein
  hang       100 mL of glucose-strong
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.osmolarity: The bag has at least 2523 mOsm/L
  run        all over 2 h
  then       stop

order thirty "Dextrose by a hand vein"
  route      peripheral vein
  hang       100 mL of dextrose-thirty
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.osmolarity: The bag has at least 1514 mOsm/L
  run        all over 2 h
  then       stop

order salt "Strong saline by a hand vein"
  route      peripheral vein
  hang       250 mL of salt-strong
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.osmolarity: The bag has 1026 mOsm/L
  run        all over 2 h
  then       stop

order neat "Bicarbonate by a hand vein"
  drug       bicarbonate
  route      peripheral vein
  undiluted  100 mL
  ^^^^^^^^^^^^^^^^^ mix.osmolarity: The bag has 2000 mOsm/L
  run        all over 2 h
  then       stop

order ampoule "Dextrose as supplied"
  drug       dextrose-amp
  route      peripheral vein
  undiluted  50 mL
  ^^^^^^^^^^^^^^^^ mix.osmolarity: The bag has at least 2523 mOsm/L
  ^^^^^^^^^^^^^^^^ limit.never: 2523 mOsm/L
  run        all over 2 h
  then       stop

order kept "Strong glucose after saline"
  route      peripheral vein
  hang       100 mL of saline
  run        all over 2 h
  flush      20 mL with glucose-strong
                        ^^^^^^^^^^^^^^ mix.osmolarity: glucose-strong has at least 2523 mOsm/L
  then       keep open 5 mL/h with dextrose-thirty
                                   ^^^^^^^^^^^^^^^ mix.osmolarity: dextrose-thirty has at least 1514 mOsm/L

order twelve "Glucose 12 %"
  route      peripheral vein
  hang       100 mL of glucose-twelve
  run        all over 2 h
  then       stop
"#,
        );
    }

    #[test]
    fn what_cannot_be_worked_out_is_said() {
        let text = r#"
use "tarnwick.gtt"

solution amino "Amino acids 10 %"
  contains   amino-acids 100 mg/mL

drug limitamine "A drug"
  supplied   40 mg in 4 mL
  with       amino
  never osmolarity above 900 mOsm/L

order a "A"
  drug       limitamine
  route      peripheral vein
  mix        40 mg made up to 100 mL with amino
  run        all over 10 h
  then       stop
"#;
        let found = findings(text);
        let of = |rule: &str| {
            found
                .iter()
                .find(|finding| finding.rule.name == rule)
                .unwrap()
        };
        assert_eq!(of("mix.osmolarity").severity, Severity::Information);
        assert_eq!(of("limit.not-checked").severity, Severity::Error);
    }
}
