//! What a name stands for.

use gutta_checks::markdown::{block, code, inline};
use gutta_notation::{Fact, Line, Stanza, StanzaKind};
use gutta_protocol::measures::Group;
use gutta_protocol::{Reference, Resolved, Space, StanzaId};

use super::super::derived::Shown;
use super::super::steps::groups_text;
use super::super::{TOO_LONG, lenses, limits, worked};
use crate::state::{AnswerPart, Site};

/// The most lines of a stanza that are shown.
const MOST_LINES: usize = 40;

/// What a mentioned name means; `None` where nothing bears it, which is a
/// finding.
pub(super) fn meaning(site: Site<'_>, reference: &Reference) -> Option<String> {
    if reference.spaces.contains(&Space::Substance) && reference.spaces.len() == 1 {
        return substance(site, &reference.name);
    }
    match site.workspace.resolve_reference(site.file, reference) {
        Resolved::One(id) => Some(facts(site.of(id.file), id)),
        Resolved::Many(ids) => {
            let all = ids.iter().map(|id| facts(site.of(id.file), *id));
            let all: Vec<_> = all.collect();
            Some(format!(
                "{} could mean any of these, so none is used.\n\n{}",
                code(&reference.name),
                all.join("\n\n---\n\n")
            ))
        }
        Resolved::None => None,
    }
}

/// A stanza's facts as they are written, each with what follows from it.
pub(super) fn facts(site: Site<'_>, id: StanzaId) -> String {
    let stanza = site.workspace.stanza(id);
    let place = site.workspace.place(id, stanza.header);
    let header = site.workspace.text_at(place);
    let mut lines = format!("{header}\n");
    let told: Vec<_> = stanza.lines.iter().filter(|line| is_fact(line)).collect();
    for line in told.iter().take(MOST_LINES) {
        let own = site.workspace.text_at(site.workspace.place(id, line.span));
        lines.push_str(&format!("  {own}"));
        if let Some(hint) = limits::label(site, id, line) {
            lines.push_str(&format!("  # {hint}"));
        }
        lines.push('\n');
    }
    let mut text = block("gtt", &lines);
    text.push('\n');
    if let Some(more) = told.len().checked_sub(MOST_LINES).filter(|more| *more > 0) {
        text.push_str(&format!("\nand {more} more lines\n"));
    }
    text.push_str(&format!(
        "\nin {}",
        code(&site.workspace.file(id.file).path)
    ));
    if let Some(doubt) = doubt(stanza) {
        text.push_str("\n\n");
        text.push_str(doubt);
    }
    if let (StanzaKind::Ingredient, Some(name)) = (stanza.kind, &stanza.name) {
        text.push_str("\n\n");
        text.push_str(&brought(site, &name.value));
    }
    if matches!(stanza.kind, StanzaKind::Order | StanzaKind::Specimen) {
        text.push_str("\n\n");
        let told = site
            .refused
            .within(id, AnswerPart::Facts, || order(site, id));
        text.push_str(told.as_deref().unwrap_or(TOO_LONG));
    }
    text
}

/// An order's values below its lines, or what is missing.
fn order(site: Site<'_>, id: StanzaId) -> String {
    let shown = Shown::of(site, id);
    match shown.values() {
        None => worked::missing(&shown),
        Some(_) => {
            let mut text = String::new();
            if let Some(summary) = lenses::summary(&shown) {
                text.push_str(&format!("**{summary}**\n\n"));
            }
            // Per kg and m2 stand behind its `then`.
            let whole = |group: &Group<'_>| {
                group.value().is_some_and(|value| {
                    let dimension = value.unit.dimension();
                    dimension == dimension.without_patient()
                })
            };
            let totals: Vec<_> = worked::totals(&shown).into_iter().filter(whole).collect();
            if let Some(totals) = groups_text(&shown, &totals, false) {
                text.push_str(&totals);
            }
            text
        }
    }
}

/// Words for people and waivers are no facts of the thing itself.
fn is_fact(line: &Line) -> bool {
    use gutta_notation::ast::WordsKind as Words;
    !matches!(
        line.fact,
        Fact::Waive(_)
            | Fact::ReviewBy(_)
            | Fact::Expect(_)
            | Fact::Words {
                kind: Words::Goal | Words::Monitor | Words::StopWhen,
                ..
            }
    )
}

fn doubt(stanza: &Stanza) -> Option<&'static str> {
    let doubtful = !stanza.is_whole() && stanza.kind != StanzaKind::Preamble;
    if doubtful && stanza.kind == StanzaKind::Ingredient {
        return Some(
            "Not all of it could be read: whatever contains it is not checked against all of its limits.",
        );
    }
    doubtful.then_some(
        "Not all of it could be read: an order that uses it is not complete, and has no \
         values.",
    )
}

/// What limits a substance, and what brings it.
pub(super) fn substance(site: Site<'_>, name: &str) -> Option<String> {
    let workspace = site.workspace;
    let limits = workspace.ingredients(name);
    let limits: Vec<_> = limits
        .iter()
        .map(|id| facts(site.of(id.file), *id))
        .collect();
    match limits.is_empty() {
        true => {
            let text = brought(site, name);
            (!text.is_empty()).then_some(text)
        }
        false => Some(limits.join("\n\n---\n\n")),
    }
}

/// What brings a substance: in sight, or else anywhere.
fn brought(site: Site<'_>, name: &str) -> String {
    let workspace = site.workspace;
    let mut ids = workspace.containing(site.file, name);
    if ids.is_empty() {
        ids = workspace.declared_anywhere(Space::Substance, name);
    }
    let mut text = String::new();
    for id in ids {
        let stanza = workspace.stanza(id);
        let bearer = stanza.name.as_ref().map_or("", |name| name.value.as_str());
        for line in &stanza.lines {
            let Fact::Contains { substance, .. } = &line.fact else {
                continue;
            };
            if substance.value != name {
                continue;
            }
            if text.is_empty() {
                text = format!("{}, as it is defined:\n", code(name));
            }
            let own = workspace.text_at(workspace.place(id, line.span));
            text.push_str(&format!("\n- {}: {}", inline(bearer), code(own)));
        }
    }
    text
}
