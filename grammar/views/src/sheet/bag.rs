//! How a bag is prepared, step by step.

use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::measures::{Group, Measure};
use gutta_protocol::model::order::{BagSpec, Preparation};
use gutta_protocol::model::size::Size;
use gutta_quantity::{Exact, Printed};

use super::Context;

/// The steps; numbers that go by the patient stand in the table beside them.
pub(super) fn steps(context: Context<'_>, bag: &BagSpec, values: &[&Group<'_>]) -> Vec<String> {
    let drug = context.order.drug.as_ref();
    let drug_named = drug.map_or_else(|| "the drug".to_owned(), |drug| context.title(drug.id));
    let solution = bag.solution.as_ref();
    let solution = solution.map_or_else(|| "the diluent".to_owned(), |with| context.title(with.id));
    // `Some(None)`: it goes by the patient.
    let told = |measure: &Measure| {
        let group = values.iter().find(|group| group.is(measure))?;
        Some(same_for_all(context, group))
    };
    let volume_of = |measure: &Measure| {
        let said = |(_, volume): (Exact, Printed)| volume.to_string();
        let of =
            |volume: Option<_>| volume.map_or_else(|| "the volume in the table".to_owned(), said);
        told(measure).map(of)
    };
    let draw = volume_of(&Measure::Expect(ExpectMeasure::Draw));
    let draw_up = |size: &Size, cap: Option<&Size>| {
        let amount = dose(context, size, cap);
        match &draw {
            Some(draw) => format!("Draw up {draw} of {drug_named}: {amount}."),
            None => format!("Take {amount} of {drug_named}."),
        }
    };
    let mut steps = Vec::new();
    if let Some(containers) = told(&Measure::Containers) {
        let supplied = drug.and_then(|drug| {
            drug.value
                .supplied
                .as_ref()
                .map(|supply| (drug.id, supply.span))
        });
        let supplied = supplied.map(|(id, span)| {
            let place = context.workspace.place(id, span);
            let text = context.workspace.text_at(place);
            text.split_whitespace()
                .skip(1)
                .collect::<Vec<_>>()
                .join(" ")
        });
        let supplied = supplied
            .map(|words| format!(" ({words})"))
            .unwrap_or_default();
        steps.push(match containers {
            Some((one, count)) if one == Exact::ONE => {
                format!("Take {count} container of {drug_named}{supplied}.")
            }
            None => {
                format!("Take as many containers of {drug_named}{supplied} as the table shows.")
            }
            Some((_, count)) => format!("Take {count} containers of {drug_named}{supplied}."),
        });
    }
    match &bag.how {
        Preparation::MadeUpTo { drug, cap, volume } => {
            steps.push(draw_up(drug, cap.as_ref()));
            let volume = written(context, volume);
            steps.push(match volume_of(&Measure::Diluent) {
                Some(diluent) => {
                    format!("Make it up to {volume} with {solution}: add {diluent} of it.")
                }
                None => format!("Make it up to {volume} with {solution}."),
            });
        }
        Preparation::AddedTo {
            drug,
            cap,
            volume,
            counted_as,
        } => {
            steps.push(draw_up(drug, cap.as_ref()));
            let volume = written(context, volume);
            steps.push(format!(
                "Add it to {volume} of {solution}, without removing any of the fluid."
            ));
            if let Some(counted) = counted_as {
                let counted = written(context, counted);
                steps.push(format!(
                    "Flows are calculated as if the bag held {counted}; the true strength is also shown."
                ));
            }
        }
        Preparation::Premixed { .. } | Preparation::PremixedStrength { .. } => {
            steps.push(format!(
                "Use the ready-made bag: {}.",
                context.written(bag.span)
            ));
        }
        Preparation::Fluid { volume } => {
            let volume = written(context, volume);
            steps.push(format!("Hang {volume} of {solution}."));
        }
        Preparation::Undiluted { volume } => {
            let volume = written(context, volume);
            steps.push(format!("Draw up {volume} of {drug_named}, undiluted."));
        }
    }
    let strengths = [ExpectMeasure::Strength, ExpectMeasure::TrueStrength];
    if let [Some(strength), of_truth] = strengths.map(|measure| told(&Measure::Expect(measure))) {
        let said = |strength: Option<(Exact, Printed)>| match strength {
            Some((_, strength)) => strength.to_string(),
            None => "as the table shows".to_owned(),
        };
        let truth = of_truth.map(|truth| format!(" (true strength {})", said(truth)));
        let mixed = matches!(
            bag.how,
            Preparation::MadeUpTo { .. } | Preparation::AddedTo { .. }
        );
        let label = if mixed {
            "Mix it. Write the strength on the label"
        } else {
            "Check the strength on its label"
        };
        steps.push(format!(
            "{label}: {}{}.",
            said(strength),
            truth.unwrap_or_default()
        ));
    }
    steps
}

fn dose(context: Context<'_>, size: &Size, cap: Option<&Size>) -> String {
    let mut told = written(context, size);
    if let Some(cap) = cap {
        told.push_str(", at most ");
        told.push_str(&written(context, cap));
    }
    told
}

fn written(context: Context<'_>, size: &Size) -> String {
    context.style.quantity(&size.quantity()).to_string()
}

/// The value, where it is the same for every patient, and as it is told.
fn same_for_all(context: Context<'_>, group: &Group<'_>) -> Option<(Exact, Printed)> {
    let told = group.over.iter().map(|(view, value)| {
        let number = value.at(view.patients.interval.lo())?;
        let told = value.told(&number, context.style);
        Some((number, told))
    });
    let told: Vec<_> = told.collect::<Option<_>>()?;
    let alike = |pair: &[(Exact, Printed)]| pair[0].1.reads_as(&pair[1].1);
    let same = group.is_same() && told.windows(2).all(alike);
    same.then(|| told.into_iter().next())?
}
