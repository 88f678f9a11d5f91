//! Values in Markdown: a table over the patients, and the steps for one.

use gutta_protocol::derive::View;
use gutta_protocol::measures::{Group, NOTHING, WHY_NOTHING, rows, staying};
use gutta_protocol::plot::axis;
use gutta_protocol::working::Working;
use gutta_quantity::Exact;

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
    let views = groups.first()?.over.iter().map(|(view, _)| *view);
    let views: Vec<&View> = views.collect();
    let same: Vec<_> = groups.iter().filter(|group| group.is_same()).collect();
    let varying: Vec<_> = groups.iter().filter(|group| !group.is_same()).collect();
    let mut text = String::new();
    for group in &same {
        let told = shown.told(group)?;
        text.push_str(&format!(
            "- {} **{}**\n",
            group.name(shown.style()),
            told.text
        ));
    }
    let rows = rows(view, &varying);
    if !varying.is_empty() {
        for view in &views {
            text.push_str(&table(shown, view, &varying, &rows));
        }
    }
    if with_steps {
        let x = chosen(shown, view, &rows);
        text.push_str(&steps(shown, view, groups, &x));
    }
    (!text.is_empty()).then_some(text)
}

/// The patient for whom the steps are shown: the weight that is set, else one
/// amid the table.
fn chosen(shown: &Shown<'_>, view: &View, rows: &[Exact]) -> Exact {
    let interval = &view.patients.interval;
    let set = match &shown.whom {
        Whom::One(weight) => Some(weight),
        Whom::All | Whom::NotCovered(_) => None,
    };
    let middle = rows.get(rows.len() / 2);
    let wanted = [set, middle].into_iter().flatten();
    let mut inside = wanted.filter(|x| interval.contains(x));
    inside.next().unwrap_or(interval.lo()).clone()
}

/// ` with 1.8 m2`, where the order ranges over both.
fn with(shown: &Shown<'_>, view: &View) -> String {
    let stays = staying(view, shown.style());
    stays.map_or_else(String::new, |stays| format!(" with {stays}"))
}

fn table(shown: &Shown<'_>, view: &View, groups: &[&Group<'_>], rows: &[Exact]) -> String {
    let Some((word, unit)) = axis(view) else {
        return String::new();
    };
    let mut text = format!("\n| {word}{} |", with(shown, view));
    for group in groups {
        text.push_str(&format!(" {} |", group.name(shown.style())));
    }
    text.push_str("\n|");
    text.push_str(&" --- |".repeat(groups.len() + 1));
    let mut gap = false;
    for x in rows {
        text.push_str(&format!("\n| {} |", shown.patient(x, unit)));
        for group in groups {
            let told = group.in_view(view).and_then(|value| {
                let number = value.at(x)?;
                Some(value.told(&number, shown.style()).to_string())
            });
            gap |= told.is_none();
            text.push_str(&format!(" {} |", told.as_deref().unwrap_or(NOTHING)));
        }
    }
    text.push('\n');
    if gap {
        text.push_str(&format!("\n{NOTHING} no value: {WHY_NOTHING}.\n"));
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
        format!(" for {}{}", shown.patient(x, unit), with(shown, view))
    });
    format!("\nWorking{whom}:\n\n{text}")
}
