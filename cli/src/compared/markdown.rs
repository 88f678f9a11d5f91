//! What changed, as Markdown for a pull request.

use std::fmt::Write;

use gutta_checks::markdown::{cell, code, inline};
use gutta_protocol::CAUTION;
use gutta_views::compare::{Change, Row, Subject, ValueText};
use gutta_views::compared::{Compared, fate, instance, kind, leaned_on, place, what};

/// A heading and a table for each stanza, marked ones first.
pub(crate) fn markdown(compared: &Compared) -> String {
    if let Some(unchanged) = compared.unchanged() {
        return format!("{unchanged}\n");
    }
    let mut out = String::from("## What changed clinically\n\n");
    let _ = writeln!(
        out,
        "From {} to {}.",
        code(&compared.before),
        code(&compared.after)
    );
    let _ = writeln!(out, "{}\n", compared.summary());
    for told in &compared.comparison.not_compared {
        let _ = writeln!(out, "- **!** Not compared: {}.", inline(told));
    }
    if !compared.comparison.not_compared.is_empty() {
        out.push('\n');
    }
    if !compared.comparison.specimens.is_empty() {
        let names = compared.comparison.specimens.join(", ");
        let _ = writeln!(
            out,
            "Not compared, because they are not for patients: specimens {}.\n",
            inline(&names)
        );
    }
    for subject in &compared.comparison.subjects {
        one(compared, &mut out, subject);
    }
    let _ = writeln!(out, "> {CAUTION}");
    out
}

fn one(compared: &Compared, out: &mut String, subject: &Subject) {
    let mark = if subject.marked { "! " } else { "" };
    let fate = fate(subject);
    let fate = if fate.is_empty() {
        fate
    } else {
        format!(": {}", inline(&fate))
    };
    let name = inline(&subject.name);
    let _ = writeln!(out, "### {mark}{} {name}{fate}\n", kind(subject));
    if let Some(title) = &subject.title {
        let _ = writeln!(out, "{}\n", inline(title));
    }
    let place = place(subject);
    if !place.is_empty() {
        let _ = writeln!(out, "{}\n", code(&place));
    }
    if let Some(used) = leaned_on(subject) {
        let _ = writeln!(out, "Used by {}.\n", inline(&used));
    }
    if subject.changes.is_empty() {
        return;
    }
    if !compared.rows {
        in_short(compared, out, subject);
        return;
    }
    out.push_str("| | what | for | before | after | |\n| --- | --- | --- | --- | --- | --- |\n");
    for change in &subject.changes {
        in_rows(compared, out, change);
    }
    out.push('\n');
}

/// What changed as a list, and what follows from it as its last item.
fn in_short(compared: &Compared, out: &mut String, subject: &Subject) {
    let item = |marked: bool| if marked { "- **!** " } else { "- " };
    for change in &subject.changes {
        if compared.is_told_along(change) {
            continue;
        }
        let instance = instance(change);
        let values = match (&instance, change.rows.as_slice()) {
            (Some(instance), _) => vec![inline(instance)],
            (None, rows) => rows.iter().filter_map(values).collect(),
        };
        let bearing = Some(compared.bearing(change)).filter(|told| !told.is_empty());
        let parts: Vec<_> = values.into_iter().chain(bearing).collect();
        let _ = writeln!(
            out,
            "{}{}: {}",
            item(change.marked),
            inline(&what(change)),
            parts.join("; "),
        );
    }
    if let Some(follows) = compared.follows(subject) {
        let _ = writeln!(out, "{}{}", item(follows.marked), inline(&follows.text));
    }
    out.push('\n');
}

fn in_rows(compared: &Compared, out: &mut String, change: &Change) {
    let with_ratio = Compared::ratios_differ(change);
    for (index, row) in change.rows.iter().enumerate() {
        let Row {
            at,
            before,
            after,
            ratio,
        } = row;
        let first = index == 0;
        let mark = if first && change.marked { "**!**" } else { "" };
        let what = if first { what(change) } else { String::new() };
        let own = ratio
            .as_ref()
            .filter(|_| with_ratio && change.rows.len() > 1);
        let own = own.map(|ratio| compared.ratio(ratio));
        let bearing = Some(compared.bearing(change)).filter(|told| first && !told.is_empty());
        let last: Vec<_> = [own, bearing].into_iter().flatten().collect();
        let _ = writeln!(
            out,
            "| {mark} | {} | {} | {} | {} | {} |",
            cell(&what),
            at.as_deref().unwrap_or(""),
            told(before.as_ref()),
            told(after.as_ref()),
            cell(&last.join("; ")),
        );
    }
}
/// Before and after; `None` where neither says a value.
fn values(row: &Row) -> Option<String> {
    let told = |told: &Option<ValueText>| told.as_ref().map(|told| inline(&told.text));
    match (told(&row.before), told(&row.after)) {
        (Some(before), Some(after)) => Some(format!("{before} \u{2192} {after}")),
        (one, other) => one.or(other),
    }
}

fn told(told: Option<&ValueText>) -> String {
    told.map_or_else(String::new, |told| cell(&told.text))
}
