#![doc = include_str!("uncounted.md")]

use gutta_protocol::chemistry::{Composition, made};
use gutta_protocol::model::reference::ContainedSubstance;
use gutta_protocol::{Space, StanzaId};
use smol_str::SmolStr;

use crate::words::{all_of, kind, quoted};
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "mix.uncounted",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("uncounted.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    // What could not be read may be what it contains, and is told.
    if !context.stanza().is_whole() {
        return;
    }
    let id = context.stanza;
    let drug = context.library.drug(id);
    let contains = match (drug, context.library.solution(id)) {
        (Some(drug), _) => &drug.contains,
        (None, Some(solution)) => &solution.contains,
        (None, None) => return,
    };
    let mut uncounted: Vec<(SmolStr, StanzaId)> = Vec::new();
    for substance in spoken_of(context) {
        let known = |content: &ContainedSubstance| content.substance == substance;
        let named = uncounted.iter().any(|(name, _)| *name == substance);
        if named || contains.iter().any(known) {
            continue;
        }
        // By name, so that nothing else need be looked at. That nothing contains
        // it is told at the ingredient.
        let workspace = context.workspace;
        let ingredients = workspace.ingredients(&substance);
        if workspace
            .declared_anywhere(Space::Substance, &substance)
            .is_empty()
        {
            continue;
        }
        uncounted.extend(ingredients.first().map(|id| (substance, *id)));
    }
    let Some((_, limits)) = uncounted.first() else {
        return;
    };
    let stanza = context.stanza();
    let names: Vec<_> = uncounted.iter().map(|(name, _)| name.as_str()).collect();
    let message = format!(
        "This {} does not state how much {} it contains, so none of it is checked against the limits of the ingredient.",
        kind(stanza.kind),
        all_of(&names)
    );
    let lines: Vec<_> = names
        .iter()
        .map(|name| format!("contains {name}"))
        .collect();
    let header = context.workspace.stanza(*limits).header;
    let span = stanza.name.as_ref().map_or(stanza.header, |name| name.span);
    findings.push(
        context
            .finding(&RULE, span, message)
            .related(context.workspace.place(*limits, header), "the ingredient")
            .note(format!(
                "Add {} with the strength that the label gives.",
                all_of(&quoted(&lines))
            )),
    );
}

/// The substances that its names or its title speak of: words of the name, and
/// the ions of the salt that it is.
fn spoken_of(context: &StanzaContext<'_>) -> Vec<SmolStr> {
    let mut all = Vec::new();
    let title = context.stanza().title.as_ref();
    let names = context.workspace.own_names(context.stanza);
    let names: Vec<_> = names.map(|name| &name.value).collect();
    for name in &names {
        all.push((*name).clone());
        all.extend(name.split('-').map(SmolStr::new));
    }
    for name in names.into_iter().chain(title.map(|title| &title.value)) {
        match made(name) {
            Some(Composition::Salt(salt)) => {
                all.extend(salt.ions.iter().map(|(ion, _)| SmolStr::new_static(ion)));
            }
            Some(Composition::Substance(substance)) => {
                let names = substance.names.iter();
                all.extend(names.map(|name| SmolStr::new_static(name)));
            }
            None => {}
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_drug_or_a_solution_that_does_not_say() {
        assert_findings(
            r#"
ingredient potassium "Potassium"
  never dose above 10 mmol/h

ingredient insulin "Insulin"
           ^^^^^^^ name.unknown: No drug and no solution contains `insulin`.
  never dose above 10 units/h

solution kcl-bag "Potassium chloride 0.3 %"
         ^^^^^^^ mix.uncounted: This solution does not state how much potassium it contains, so none of it is checked against the limits of the ingredient.
  osmolarity 80 mOsm/L

drug potassium-phosphate "Phosphate with potassium"
     ^^^^^^^^^^^^^^^^^^^ mix.uncounted: This drug does not state how much potassium it contains, so none of it is checked against the limits of the ingredient.
  supplied   10 mmol in 10 mL

drug insulin "Insulin"
  supplied   1000 units in 10 mL

drug potassium-chloride "Potassium chloride"
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
"#,
        );
    }
}
