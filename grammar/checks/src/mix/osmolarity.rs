#![doc = include_str!("osmolarity.md")]

use gutta_notation::ast::Route;
use gutta_protocol::model::order::Answer;
use gutta_quantity::{Quantity, units};

use crate::telling::{sentence, told_apart, whom};
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
    let order = &context.analysis.order;
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
        let Some(bag) = &spec.bag else { continue };
        let found = values.views.iter().find_map(|view| {
            let osmolarity = view.osmolarity(order, index)?;
            let regions = osmolarity.where_above(&view.patients.constant(bound.clone()))?;
            let most = osmolarity.max_value()?.value;
            let varies = osmolarity.is_constant().is_none();
            let whom = whom(view, &regions).filter(|_| varies);
            (!regions.is_empty()).then_some((whom, most))
        });
        let Some((whom, most)) = found else { continue };
        let value = told_apart(&most, &bound, units::MOSM_PER_L);
        let limit = Quantity::from_base(bound.clone(), units::MOSM_PER_L);
        let allowed = format!("more than the {limit} that the house allows by a peripheral vein");
        let message = match whom {
            Some(whom) => format!("{} the bag has {allowed}: up to {value}.", sentence(&whom)),
            None => format!("The bag has {value}, {allowed}."),
        };
        findings.push(
            context
                .finding(&RULE, bag.span, message)
                .related(context.place(route), label)
                .note("The bound is the house's (`peripheral-osmolarity` in `gutta.toml`). Use a central vein, or a weaker mixture."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

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
            "The bag has 1110 mOsm/L, more than the 900 mOsm/L that the house allows by a peripheral vein."
        );
        assert_eq!(label, "by this route");
        let (message, label) = said(
            "any",
            "drug limitamine\n  mix 2 mg/kg made up to 50 mL with glucose-20",
        );
        assert_eq!(
            message,
            "Below 52 kg the bag has more than the 900 mOsm/L that the house allows by a peripheral vein: up to 948 mOsm/L."
        );
        assert_eq!(label, "a peripheral vein too");
    }
}
