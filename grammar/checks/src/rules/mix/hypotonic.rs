#![doc = include_str!("hypotonic.md")]

use gutta_notation::Span;
use gutta_notation::ast::Route;
use gutta_protocol::model::order::{Answer, Named, Order, Preparation};
use gutta_protocol::model::reference::Solution;
use gutta_quantity::{Exact, Quantity, units};

use crate::telling::told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.hypotonic",
    severity: Severity::Error,
    locked: false,
    page: include_str!("hypotonic.md"),
    check: Check::Order(check),
};

/// Half of the least osmolarity of plasma, in mOsm/L (common practice, no
/// source): below it red cells burst in what flows undiluted.
const LEAST: i64 = 140;

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let order = &context.analysis.order;
    let style = context.style();
    let least = Quantity::new(Exact::int(LEAST), units::MOSM_PER_L);
    for (fluid, at, severity) in fluids(order) {
        let solution = &fluid.value;
        let message = match &solution.osmolarity {
            Some((stated, _)) if *stated < least.base() => format!(
                "{} has {}: a fluid of less than {} causes haemolysis.",
                fluid.name,
                told(stated, units::MOSM_PER_L, style),
                style.quantity(&least)
            ),
            None if is_water(context, fluid) => format!(
                "{} is water, and contains nothing: it causes haemolysis.",
                fluid.name
            ),
            _ => continue,
        };
        findings.push(
            context
                .finding(&RULE, at, message)
                .severity(severity)
                .note("Water is for dissolving drugs, and is not infused by itself. Choose a fluid such as sodium chloride 0.9 % or glucose 5 %."),
        );
    }
}

/// Fluids without a drug that flow into a vein, or may.
fn fluids(order: &Order) -> Vec<(&Named<Solution>, Span, Severity)> {
    let mut fluids = Vec::new();
    for phase in &order.phases {
        let by_vein = match &phase.route {
            Answer::Is(route) => is_vein(route.value),
            Answer::Any(_) | Answer::Unanswered => true,
        };
        if !by_vein {
            continue;
        }
        let bag = phase.bag.as_ref();
        let bag = bag.filter(|bag| matches!(bag.how, Preparation::Fluid { .. }));
        let hung = bag.map(|bag| (bag.solution.as_ref(), bag.span, Severity::Error));
        let flushes = phase.flushes.iter();
        let flushes = flushes.map(|(size, fluid)| (fluid.as_ref(), size.span, Severity::Warning));
        let kept = (phase.kept_open_with(), phase.span, Severity::Error);
        let all = hung.into_iter().chain(flushes).chain([kept]);
        fluids.extend(all.filter_map(|(fluid, at, severity)| {
            let fluid = fluid?;
            Some((fluid, fluid.span.unwrap_or(at), severity))
        }));
    }
    fluids
}

const fn is_vein(route: Route) -> bool {
    matches!(
        route,
        Route::CentralVein
            | Route::PeripheralVein
            | Route::UmbilicalVein
            | Route::Intraosseous
            | Route::Arterial
    )
}

/// Whether a solution that states nothing is water, by its name or title.
fn is_water(context: &OrderContext<'_>, fluid: &Named<Solution>) -> bool {
    if !fluid.value.contains.is_empty() {
        return false;
    }
    let title = context.workspace.stanza(fluid.id).title.as_ref();
    let title = title.map(|title| title.value.as_str()).unwrap_or_default();
    [fluid.name.as_str(), title].into_iter().any(|text| {
        let text = text.to_lowercase();
        let mut words = text.split(|c: char| !c.is_alphanumeric());
        words.any(|word| word == "water")
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn water_into_a_vein() {
        assert_findings(
            r#"
use "tarnwick.gtt"

solution aqua "Water for injections"

solution quarter "Sodium chloride 0.22 %"
  contains   sodium 0.038 mmol/mL
  contains   chloride 0.038 mmol/mL
  osmolarity 76 mOsm/L

solution half "Sodium chloride 0.45 %"
  contains   sodium 0.077 mmol/mL
  contains   chloride 0.077 mmol/mL
  osmolarity 154 mOsm/L

drug limitamine "A drug"
  supplied   40 mg in 4 mL
  with       aqua, saline

order hung "Water by a hand vein"
  route      peripheral vein
  hang       500 mL of aqua
                       ^^^^ mix.hypotonic: aqua is water, and contains nothing: it causes haemolysis.
  run        all over 5 h
  then       stop

order kept "A weak fluid"
  route      central vein
  hang       500 mL of half
  run        all over 5 h
  flush      10 mL with aqua
                        ^^^^ mix.hypotonic
  then       keep open 5 mL/h with quarter
                                   ^^^^^^^ mix.hypotonic: quarter has 76 mOsm/L: a fluid of less than 140 mOsm/L causes haemolysis.

order dissolved "It dissolves the drug"
  drug       limitamine
  route      central vein
  mix        40 mg made up to 40 mL with aqua
  run        all over 1 h
  then       stop

order fed "By a feeding tube"
  route      enteral
  hang       500 mL of aqua
  run        all over 5 h
  then       stop
"#,
        );
    }
}
