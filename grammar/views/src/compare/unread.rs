//! What cannot be set side by side, said: unread lines, orders without values,
//! files that are no text.

use std::collections::BTreeMap;

use gutta_checks::unread;
use gutta_notation::StanzaKind;
use gutta_protocol::{StanzaId, Workspace};

use super::lines::words;
use super::side::{Judged, Side};
use super::statement::{Bearing, Statement};
use super::{Change, Effect, Row, Turn, ValueText};

/// An order that had no values, and has some.
pub(super) fn derived_now(before: &Side<'_>, id: StanzaId) -> Change {
    let had = format!("none: {}", reasons(before, id));
    values(Some(&had), Some("derived"), Turn::Changed)
}

/// An order that has no values.
pub(super) fn derived_no_more(after: &Side<'_>, id: StanzaId) -> Change {
    let has = format!("none: {}", reasons(after, id));
    values(Some("derived"), Some(&has), Turn::Changed)
}

/// A new order that has no values.
pub(super) fn never_derived(after: &Side<'_>, id: StanzaId) -> Change {
    let has = format!("none: {}", reasons(after, id));
    values(None, Some(&has), Turn::Added)
}

/// Values that cannot be set side by side.
pub(super) fn apart(why: &str) -> Change {
    let said = format!("not compared: {why}");
    values(None, Some(&said), Turn::Changed)
}

fn values(before: Option<&str>, after: Option<&str>, turn: Turn) -> Change {
    let told = |text: &str| ValueText {
        text: text.to_owned(),
        number: None,
    };
    Change {
        what: "values".to_owned(),
        phase: None,
        turn,
        effect: Effect::Neither,
        derived: true,
        rows: vec![Row {
            at: None,
            before: before.map(told),
            after: after.map(told),
            ratio: None,
        }],
        greatest: None,
        marked: true,
    }
}

fn reasons(side: &Side<'_>, id: StanzaId) -> String {
    let Some(Err(incomplete)) = side.orders.get(&id).map(Judged::values) else {
        return String::new();
    };
    let told = incomplete.told(|span| side.workspace.line_number(id, span));
    told.join("; ")
}

/// What of an order was read and not used, by its words.
pub(super) fn problems(workspace: &Workspace, id: StanzaId, judged: &Judged) -> Vec<Statement> {
    let Err(incomplete) = judged.values() else {
        return Vec::new();
    };
    let header = workspace.stanza(id).header;
    let taken = incomplete.problems.iter().filter(|problem| {
        problem.span != header
            && problem.kind != gutta_protocol::model::problem::ProblemKind::Unread
    });
    taken
        .map(|problem| {
            let text = words(workspace, id, problem.span);
            Statement::words("not used", text, Bearing::ACTS)
        })
        .collect()
}

/// What of either state is no stanza or no text.
pub(super) fn told(before: &Side<'_>, after: &Side<'_>) -> Vec<String> {
    let mut all = Vec::new();
    for (side, when) in [(before, "before"), (after, "after")] {
        let files: Vec<_> = side.workspace.file_ids().collect();
        let found = unread(side.workspace, &files);
        let told = found
            .iter()
            .map(|one| one.told(side.workspace, str::to_owned));
        all.extend(told.map(|told| format!("{when}: {told}")));
    }
    all
}

/// The specimens that say something else, by name.
pub(super) fn changed_specimens(before: &Workspace, after: &Workspace) -> Vec<String> {
    let (old, new) = (specimens(before), specimens(after));
    let names = old.keys().chain(new.keys());
    let other = names.filter(|name| old.get(*name) != new.get(*name));
    let mut changed: Vec<_> = other.cloned().collect();
    changed.sort();
    changed.dedup();
    changed
}

/// What each specimen says, comments and blanks apart.
fn specimens(workspace: &Workspace) -> BTreeMap<String, Vec<String>> {
    let mut all: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for id in workspace.stanzas_of(StanzaKind::Specimen) {
        let stanza = workspace.stanza(id);
        let name = stanza.name.as_ref().map(|name| name.value.to_string());
        let lines = stanza
            .lines
            .iter()
            .map(|line| words(workspace, id, line.span));
        all.entry(name.unwrap_or_default())
            .or_default()
            .extend(lines);
    }
    all
}
