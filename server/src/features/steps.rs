//! Values in Markdown: a table over the patients, and the steps for one.

use gutta_protocol::derive::View;
use gutta_protocol::measures::{Group, NOTHING, staying};
use gutta_protocol::plot::axis;
use gutta_protocol::working::Working;
use gutta_quantity::{Exact, Printed};
use gutta_views::table::{ByPatient, Choice, Table, cell};

use super::CAUTION;
use super::derived::{Shown, Whom};

/// The text, with the caution below it.
pub(super) fn ended(text: String) -> String {
    let own = text.trim_end();
    if own.ends_with(&format!("*{CAUTION}*")) {
        return own.to_owned();
    }
    format!("{own}\n\n*{CAUTION}*")
}

/// What does not vary as a list, a table of the rest, and the steps where they
/// are wanted.
pub(super) fn groups_text(
    shown: &Shown<'_>,
    groups: &[Group<'_>],
    with_steps: bool,
) -> Option<String> {
    let (view, _) = groups.first()?.over.first()?;
    let views = &shown.values()?.views;
    let all: Vec<_> = groups.iter().collect();
    let chosen = match &shown.whom {
        Whom::One(weight) => Some(weight),
        Whom::All | Whom::NotCovered(_) => None,
    };
    let values = ByPatient::of(views, &all, Choice::Turns, None, shown.style());
    let mut text = String::new();
    for same in &values.same {
        let value = cell(same.value.as_ref());
        text.push_str(&format!("- {} **{value}**\n", same.measure));
    }
    for of_view in &values.tables {
        text.push_str(&table(of_view));
    }
    if with_steps {
        let interval = &view.patients.interval;
        // The weight that is set, else one amid the table.
        let rows = values.tables.first().map(|table| &table.patients.all);
        let middle = rows.and_then(|rows| rows.get(rows.len() / 2));
        let wanted = [chosen, middle.map(|patient| &patient.at)];
        let mut inside = wanted
            .into_iter()
            .flatten()
            .filter(|x| interval.contains(x));
        let x = inside.next().unwrap_or(interval.lo());
        text.push_str(&steps(shown, view, groups, x));
    }
    (!text.is_empty()).then_some(text)
}

/// ` with 1.8 m2`, where the order ranges over both.
fn with(stays: Option<&Printed>) -> String {
    stays.map_or_else(String::new, |stays| format!(" with {stays}"))
}

fn table(table: &Table) -> String {
    let Table { patients, measures } = table;
    let mut text = format!("\n| {}{} |", patients.across, with(patients.with.as_ref()));
    for measure in measures {
        text.push_str(&format!(" {} |", measure.name));
    }
    text.push_str("\n|");
    text.push_str(&" --- |".repeat(measures.len() + 1));
    for (at, patient) in patients.all.iter().enumerate() {
        text.push_str(&format!("\n| {} |", patient.told));
        for measure in measures {
            let told = measure.cells.get(at).and_then(Option::as_ref);
            text.push_str(&format!(" {} |", cell(told)));
        }
    }
    text.push('\n');
    if let Some(why) = table.note() {
        text.push_str(&format!("\n{NOTHING} no value: {why}.\n"));
    }
    text
}

/// The steps to each value, one after the other; what stands there already is
/// not said again.
pub(super) fn steps(shown: &Shown<'_>, view: &View, groups: &[Group<'_>], x: &Exact) -> String {
    let order = &shown.analysis.order;
    let mut said: Vec<String> = Vec::new();
    let mut text = String::new();
    for group in groups {
        let Some(value) = group.in_view(view) else {
            continue;
        };
        let working = Working {
            order,
            view,
            x,
            dose: group.setting,
            style: shown.style(),
        };
        let mut own = working.steps(value);
        let Some(result) = own.pop() else { continue };
        for step in own {
            if !said.contains(&step) {
                text.push_str(&format!("1. {step}\n"));
                said.push(step);
            }
        }
        text.push_str(&format!("1. **{result}**\n"));
    }
    if text.is_empty() {
        return text;
    }
    let whom = axis(view).map_or_else(String::new, |(_, unit)| {
        let stays = staying(view, shown.style());
        format!(" for {}{}", shown.patient(x, unit), with(stays.as_ref()))
    });
    format!("\nWorking{whom}:\n\n{text}")
}
