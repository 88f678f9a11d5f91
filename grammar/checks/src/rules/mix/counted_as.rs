#![doc = include_str!("counted_as.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::measures::strength_unit;
use gutta_protocol::model::order::Preparation;
use gutta_quantity::{Exact, Rounding, units};

use crate::telling::{told, told_apart};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.counted-as",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("counted_as.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let tolerance = &context.workspace.house.counted_as_tolerance;
    for (index, spec) in context.analysis.order.phases.iter().enumerate() {
        let Some(bag) = &spec.bag else { continue };
        let Preparation::AddedTo {
            counted_as: Some(counted_as),
            drug: amount,
            cap,
            volume,
        } = &bag.how
        else {
            continue;
        };
        // The view in which the two strengths lie furthest apart.
        let furthest = values.views.iter().filter_map(|view| {
            let drug = view.phases.get(index)?.bag.drug.as_ref()?;
            let share = drug.strength.div(&drug.true_strength)?;
            let one = view.patients.constant(Exact::ONE);
            let apart = share.sub(&one)?;
            let apart = apart.max(&apart.neg())?;
            let most = apart.max_value()?;
            Some((
                most.value,
                drug.strength.at(&most.x)?,
                drug.true_strength.at(&most.x)?,
                drug,
            ))
        });
        let Some((apart, nominal, truly, drug)) = furthest.max_by(|one, other| one.0.cmp(&other.0))
        else {
            continue;
        };
        if apart <= *tolerance {
            continue;
        }
        let style = context.style();
        let unit = strength_unit(drug.kind, &drug.strength);
        let whole = style.quantity(&counted_as.quantity());
        let percent =
            |share: &Exact| style.decimal(&(share * &Exact::int(100)), 1, Rounding::HalfUp);
        let message = format!(
            "Counted as {whole}, the strength is nominally {}, but the true strength is {}: they differ by {} %, and the local tolerance is {} %.",
            told_apart(&nominal, &truly, unit, style),
            told_apart(&truly, &nominal, unit, style),
            percent(&apart),
            percent(tolerance),
        );
        let out = match drug.draw.as_ref().and_then(Curve::is_constant) {
            _ if volume.value != counted_as.value => String::new(),
            Some(draw) => format!(
                ": first take out as much diluent ({}) as drug is added",
                told(draw, units::ML, style)
            ),
            None => ": first take out as much diluent as drug is added".to_owned(),
        };
        let mut finding = context.finding(&RULE, bag.span, message).note(format!(
            "Make the bag up to {whole}{out}. Or state the true volume."
        ));
        if let Some(solution) = &bag.solution {
            let cap = cap.as_ref().map_or_else(String::new, |cap| {
                format!(", at most {},", context.text(cap.span))
            });
            let drug = context.text(amount.span);
            let text = format!(
                "mix        {drug}{cap} made up to {whole} with {}",
                solution.name
            );
            finding = finding.fix(context.replace(bag.span, text));
        }
        findings.push(finding);
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    /// What to do with a mix.
    fn advice(mix: &str) -> String {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug"
  supplied   40 mg in 4 mL
  with       saline

order a "A"
  drug       limitamine
  patient    weight 40 to 80 kg
  route      central vein
  mix        {mix}
  run        all over 1 h
  then       stop
"#
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "mix.counted-as");
        found.unwrap().notes.remove(0)
    }

    #[test]
    fn what_is_taken_out_is_what_goes_in() {
        for (mix, told) in [
            (
                "100 mg added to 100 mL of saline, counted as 100 mL",
                "Make the bag up to 100 mL: first take out as much diluent (10 mL) as drug is added. Or state the true volume.",
            ),
            (
                "2 mg/kg added to 100 mL of saline, counted as 100 mL",
                "Make the bag up to 100 mL: first take out as much diluent as drug is added. Or state the true volume.",
            ),
            (
                "100 mg added to 90 mL of saline, counted as 90 mL",
                "Make the bag up to 90 mL: first take out as much diluent (10 mL) as drug is added. Or state the true volume.",
            ),
            (
                "100 mg added to 50 mL of saline, counted as 100 mL",
                "Make the bag up to 100 mL. Or state the true volume.",
            ),
        ] {
            assert_eq!(advice(mix), told, "{mix}");
        }
    }
}
