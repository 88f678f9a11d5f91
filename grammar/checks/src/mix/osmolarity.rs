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
        let peripheral = match &spec.route {
            Answer::Is(route) => route.value == Route::PeripheralVein,
            // `any` allows a peripheral vein too.
            Answer::Any(_) => true,
            Answer::Unanswered => false,
        };
        let Some(bag) = spec.bag.as_ref().filter(|_| peripheral) else {
            continue;
        };
        let found = values.views.iter().find_map(|view| {
            let osmolarity = view.osmolarity(order, index)?;
            let regions = osmolarity.where_above(&view.patients.constant(bound.clone()))?;
            let most = osmolarity.max_value()?.value;
            (!regions.is_empty()).then(|| (whom(view, &regions), most))
        });
        let Some((whom, most)) = found else { continue };
        let value = told_apart(&most, &bound, units::MOSM_PER_L);
        let limit = Quantity::from_base(bound.clone(), units::MOSM_PER_L);
        let message = match whom {
            Some(whom) => format!(
                "{} the bag has more than {limit}: up to {value}, by a peripheral vein.",
                sentence(&whom)
            ),
            None => format!("The bag has {value}, more than {limit}, by a peripheral vein."),
        };
        findings.push(
            context
                .finding(&RULE, bag.span, message)
                .note("Use a central vein, or dilute it further."),
        );
    }
}
