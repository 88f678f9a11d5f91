//! What is worth to know of a stanza before it is read, above its header.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Span, StanzaKind};
use gutta_protocol::measures::ends;
use gutta_protocol::{Place, Space, StanzaId};
use rustc_hash::FxHashSet;

use super::TOO_LONG_SHORT;
use super::derived::Shown;
use crate::state::{AnswerPart, Site};

/// What a lens tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum About {
    /// An order's patients, flow and worked examples.
    Order,
    /// What mentions the order (sets) or the drug (orders), and what contains
    /// the ingredient.
    Uses,
}

/// A place for a lens: what it says is found when it is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lens {
    /// The header.
    pub(crate) span: Span,
    pub(crate) about: About,
}

/// What a lens says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LensText {
    pub(crate) title: String,
    /// Where what it speaks of stands.
    pub(crate) places: Vec<Place>,
}

/// The lenses of a file.
pub(crate) fn lenses(site: Site<'_>) -> Vec<Lens> {
    let mut lenses = Vec::new();
    for id in site.workspace.stanzas_in(site.file) {
        let stanza = site.workspace.stanza(id);
        if stanza.name.is_none() {
            continue;
        }
        let about: &[About] = match stanza.kind {
            StanzaKind::Order => &[About::Order, About::Uses],
            StanzaKind::Specimen => &[About::Order],
            StanzaKind::Drug | StanzaKind::Ingredient => &[About::Uses],
            _ => &[],
        };
        let span = site.workspace.place(id, stanza.header).span;
        lenses.extend(about.iter().map(|about| Lens {
            span,
            about: *about,
        }));
    }
    lenses
}

/// What the lens at a header says; `None` where there is no such stanza any
/// more.
pub(crate) fn said(site: Site<'_>, lens: Lens) -> Option<LensText> {
    let id = site.stanza_at(lens.span.start)?;
    let stanza = site.workspace.stanza(id);
    let here = site.workspace.place(id, stanza.header).span == lens.span;
    match (stanza.kind, lens.about) {
        _ if !here => None,
        (StanzaKind::Order | StanzaKind::Specimen, About::Order) => {
            let title = site.refused.within(id, AnswerPart::Lens, || {
                let shown = Shown::of(site, id);
                match shown.values() {
                    Some(_) => summary(&shown),
                    None => Some(format!("not complete: {}", shown.obstacles().first()?)),
                }
            });
            Some(LensText {
                title: title.unwrap_or_else(|_| Some(TOO_LONG_SHORT.to_owned()))?,
                places: Vec::new(),
            })
        }
        (StanzaKind::Order, About::Uses) => Some(uses(site, id, "set", StanzaKind::Set)),
        (StanzaKind::Drug, About::Uses) => Some(uses(site, id, "order", StanzaKind::Order)),
        (StanzaKind::Ingredient, About::Uses) => Some(contained(site, id)),
        _ => None,
    }
}

/// The drugs and solutions that contain an ingredient.
fn contained(site: Site<'_>, id: StanzaId) -> LensText {
    let workspace = site.workspace;
    let name = workspace.stanza(id).name.as_ref().map(|name| &name.value);
    let mut places = Vec::new();
    for other in name.map_or_else(Vec::new, |name| {
        workspace.declared_anywhere(Space::Substance, name)
    }) {
        let mut lines = workspace.stanza(other).lines.iter();
        let span = lines.find_map(|line| match &line.fact {
            Fact::Contains { substance, .. } if Some(&substance.value) == name => {
                Some(substance.span)
            }
            _ => None,
        });
        places.extend(span.map(|span| workspace.place(other, span)));
    }
    let title = match places.len() {
        0 => "contained in nothing".to_owned(),
        1 => "contained in 1 drug or solution".to_owned(),
        many => format!("contained in {many} drugs and solutions"),
    };
    LensText { title, places }
}

/// `40 to 150 kg · 1.8 to 6.75 mL/h · 7 worked examples`.
pub(super) fn summary(shown: &Shown<'_>) -> Option<String> {
    shown.values()?;
    let order = &shown.analysis.order;
    let mut parts = Vec::new();
    let patients = shown.patients();
    parts.push(if patients.is_empty() {
        "every patient alike".to_owned()
    } else {
        patients
    });
    let flows = shown.ask(ExpectMeasure::Flow, None);
    let spots: Vec<_> = flows
        .iter()
        .flat_map(|group| &group.over)
        .filter_map(|(view, value)| gutta_protocol::measures::reach(&[(*view, value)]))
        .flat_map(|reach| [reach.from, reach.to])
        .collect();
    let by = |spot: &&gutta_protocol::measures::Spot<'_>| spot.number.clone();
    if let (Some(least), Some(most), Some(value)) = (
        spots.iter().min_by_key(by),
        spots.iter().max_by_key(by),
        flows.first().and_then(|group| group.value()),
    ) {
        parts.push(ends(shown.number(value, least), shown.number(value, most)));
    }
    parts.push(match order.expects.len() {
        0 => "no worked example".to_owned(),
        1 => "1 worked example".to_owned(),
        many => format!("{many} worked examples"),
    });
    Some(parts.join(" \u{b7} "))
}

/// The stanzas of a kind that mention this one.
fn uses(site: Site<'_>, id: StanzaId, word: &str, kind: StanzaKind) -> LensText {
    let mut seen = FxHashSet::default();
    let mut places = Vec::new();
    for (user, reference) in site.workspace.referrers(id) {
        if site.workspace.stanza(user).kind == kind && seen.insert(user) {
            places.push(site.workspace.place(user, reference.span));
        }
    }
    let title = match places.len() {
        0 => format!("in no {word}"),
        1 => format!("in 1 {word}"),
        many => format!("in {many} {word}s"),
    };
    LensText { title, places }
}

#[cfg(test)]
mod tests;
