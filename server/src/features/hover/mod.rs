//! What stands under the cursor, in Markdown.

mod names;

use gutta_checks::{Page, rule};
use gutta_notation::lines::keyword_of;
use gutta_notation::words::STANZAS;
use gutta_notation::{Fact, Line, Span, StanzaKind, Style};
use gutta_protocol::StanzaId;
use gutta_protocol::equivalents::equivalents;
use gutta_protocol::model::drug::Ties;
use gutta_quantity::{Quantity, Unit};

use super::completion::{self, About};
use super::steps::ended;
use super::{TOO_LONG, worked};
use crate::state::{AnswerPart, Site};

/// What is said of a stretch of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Hover {
    pub(crate) span: Span,
    /// In Markdown.
    pub(crate) text: String,
}

/// What is to be said of what stands at the byte.
pub(crate) fn hover(site: Site<'_>, offset: u32) -> Option<Hover> {
    let id = site.stanza_at(offset)?;
    let start = site.start_of(id);
    let own = offset.checked_sub(start)?;
    let holds = |span: Span| (span.start..=span.end).contains(&own);
    let said = |span: Span, text: String| Hover {
        span: span.shifted(start),
        text: ended(text),
    };
    let stanza = site.workspace.stanza(id);
    if let Some(name) = stanza.name.as_ref().filter(|name| holds(name.span)) {
        return Some(said(name.span, names::facts(site, id)));
    }
    let mut references = site.workspace.references(id).iter();
    if let Some(reference) = references.find(|reference| holds(reference.span)) {
        let text = names::meaning(site, reference)?;
        return Some(said(reference.span, text));
    }
    let (_, _, line) = site.line_at(offset)?;
    if let Some(name) = rule_of(&line.fact).filter(|name| holds(name.span)) {
        let style = site.workspace.house.style;
        return Some(said(name.span, page(&name.value, style)?));
    }
    if let Fact::Contains { substance, .. } = &line.fact
        && holds(substance.span)
    {
        let text = names::substance(site, &substance.value)?;
        return Some(said(substance.span, text));
    }
    if let Some((span, text)) = quantity(site, id, line, own) {
        return Some(said(span, text));
    }
    let span = if holds(line.keyword) {
        line.keyword
    } else {
        line.span
    };
    let work = || worked::line(site, id, line);
    let part = AnswerPart::Line(line.span.start);
    let told = site.refused.within(id, part, work);
    let text = told.unwrap_or_else(|_| Some(TOO_LONG.to_owned()));
    if let Some(text) = text {
        return Some(said(span, text));
    }
    holds(line.keyword).then_some(())?;
    Some(Hover {
        span: line.keyword.shifted(start),
        text: explained(site, id, line)?,
    })
}

/// What the reference says of a line's keyword.
fn explained(site: Site<'_>, id: StanzaId, line: &Line) -> Option<String> {
    let kind = site.workspace.stanza(id).kind;
    let text = site.workspace.text_at(site.workspace.place(id, line.span));
    let (word, _) = keyword_of(text, kind)?;
    let home = STANZAS.iter().find(|stanza| stanza.kind == kind)?;
    completion::documentation(&site, &About::Line(word.words.into(), home.word.into()))
}

/// The rule that a line names.
fn rule_of(fact: &Fact) -> Option<&gutta_notation::ast::Name> {
    match fact {
        Fact::Waive(waive) => Some(&waive.rule),
        Fact::ExpectFinding(name) => Some(name),
        _ => None,
    }
}

/// A rule's page, without its examples.
fn page(name: &str, style: Style) -> Option<String> {
    let rule = rule(name)?;
    let text = rule.page(style);
    let page = Page::of(&text);
    let mut text = format!("**{}**\n\n{}", page.title, page.summary);
    for heading in ["What it finds", "Why it matters", "Source"] {
        let body = page.section(heading);
        if !body.is_empty() {
            text.push_str(&format!("\n\n**{heading}**\n\n{body}"));
        }
    }
    if rule.locked {
        text.push_str("\n\nIt cannot be waived or lowered.");
    }
    Some(text)
}

/// A quantity's equivalents.
fn quantity(site: Site<'_>, id: StanzaId, line: &Line, own: u32) -> Option<(Span, String)> {
    // Its per cent is a share.
    if matches!(line.fact, Fact::Accuracy(_)) {
        return None;
    }
    let quantities = line.fact.quantities();
    let mut here = quantities
        .iter()
        .filter(|written| (written.span.start..=written.span.end).contains(&own));
    let written = here.next()?;
    let quantity = written.quantity()?;
    let others = equivalents(&quantity, ties_of(site, id));
    if others.is_empty() {
        return None;
    }
    let style = site.workspace.house.style;
    let mut text = format!("**{}** is the same as\n", style.quantity(&quantity));
    for other in &others {
        text.push_str(&format!("\n- {}", style.quantity(other)));
        if counted_otherwise(&quantity, other) {
            text.push_str(", as `equals` says");
        }
    }
    Some((written.span, ended(text)))
}

fn counted_otherwise(one: &Quantity, other: &Quantity) -> bool {
    let top = |unit: Unit| unit.top.map(gutta_quantity::Atom::dimension);
    let strength = |quantity: &Quantity| quantity.dimension().is_strength();
    !strength(one) && top(one.unit) != top(other.unit)
}

/// What ties the countings of what the stanza's quantities are of: a drug, or
/// an ingredient.
fn ties_of(site: Site<'_>, id: StanzaId) -> &Ties {
    let library = site.library();
    if let Some(own) = library.equals(id) {
        return own;
    }
    let workspace = site.workspace;
    let mut lines = workspace.stanza(id).lines.iter();
    let named = lines.find_map(|line| match &line.fact {
        Fact::Drug(name) => Some(name),
        _ => None,
    });
    let drug = named.map(|name| workspace.resolve(id.file, StanzaKind::Drug, &name.value));
    let ties = drug.and_then(|drug| library.equals(drug.one()?));
    ties.unwrap_or_default()
}

#[cfg(test)]
mod tests;
