//! What can be written at a place: the word under the cursor, and what may
//! stand there instead.

mod about;
mod cursor;
#[cfg(test)]
mod every;
mod keywords;
mod names;
#[cfg(test)]
mod tests;
mod units;
mod values;

use gutta_notation::Span;
use gutta_protocol::StanzaId;

use crate::state::Site;
use cursor::{Cursor, Spot};

pub(crate) use about::documentation;

/// What can stand at a place.
#[derive(Clone, Debug)]
pub(crate) struct Offer {
    /// The word that is replaced, in bytes of the file.
    pub(crate) span: Span,
    /// The likeliest first.
    pub(crate) items: Vec<Item>,
}

/// One thing that can stand there.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    pub(crate) label: String,
    pub(crate) kind: Kind,
    /// A few words beside it.
    pub(crate) detail: Option<String>,
    /// What is written.
    pub(crate) text: String,
    /// The same with places to fill in, in the editors' common form.
    pub(crate) snippet: Option<String>,
    /// What there is to be read of it.
    pub(crate) about: Option<About>,
}

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A stanza's keyword.
    Stanza,
    /// A line's keyword, or a word within a line.
    Word,
    /// A name, or a file.
    Name,
    /// A unit.
    Unit,
    /// One of a few (a route, a measure).
    Choice,
    /// A rule.
    Rule,
    /// A date.
    Date,
}

/// What can be read of an item, found again by name.
#[derive(Clone, Debug, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
pub(crate) enum About {
    /// A stanza's keyword.
    Stanza(String),
    /// A line's keyword, and the keyword of its stanza.
    Line(String, String),
    /// A rule.
    Rule(String),
    /// A stanza of the workspace: its keyword and its name.
    Named(String, String),
}

impl Item {
    fn new(kind: Kind, label: impl Into<String>) -> Self {
        let label = label.into();
        Self {
            text: label.clone(),
            label,
            kind,
            detail: None,
            snippet: None,
            about: None,
        }
    }

    fn detail(mut self, detail: impl Into<String>) -> Self {
        self.detail = Some(detail.into());
        self
    }

    fn about(mut self, about: About) -> Self {
        self.about = Some(about);
        self
    }
}

/// What can stand at the byte; nothing within a comment or a text, nor where
/// the line before it cannot be read.
pub(crate) fn complete(site: &Site<'_>, offset: u32) -> Option<Offer> {
    let cursor = Cursor::new(site, offset)?;
    let (span, items) = match cursor.spot() {
        Spot::Nothing => return None,
        Spot::FirstColumn => (cursor.word, keywords::stanzas(&cursor)),
        Spot::Used => (cursor.word, names::files(&cursor)),
        Spot::Ingredient => (cursor.word, names::unlimited(&cursor)),
        Spot::Keyword { start } => {
            let span = Span::new(start, cursor.word.end);
            (span, keywords::lines(&cursor, start))
        }
        Spot::Value { kind, before, also } => {
            let mut items = values::values(&cursor, kind, before);
            let mut span = cursor.word;
            if items.is_empty()
                && let Some(start) = also
            {
                let begun = cursor.from(start);
                items = keywords::lines(&cursor, start);
                items.retain(|item| item.label.starts_with(begun));
                span.start = start;
            }
            (span, items)
        }
    };
    (!items.is_empty()).then_some(Offer { span, items })
}

/// The drug of the stanza that the cursor is in: the one it names, or itself.
fn drug_of<'a>(cursor: &Cursor<'a>) -> Option<(StanzaId, &'a gutta_protocol::model::drug::Drug)> {
    use gutta_notation::{Fact, StanzaKind};
    let id = cursor.stanza?;
    let site = cursor.site;
    let stanza = site.workspace.stanza(id);
    if stanza.kind == StanzaKind::Drug {
        return Some((id, site.library().drug(id)?));
    }
    let name = stanza.lines.iter().find_map(|line| match &line.fact {
        Fact::Drug(name) => Some(&name.value),
        _ => None,
    })?;
    let drug = site
        .workspace
        .resolve(id.file, StanzaKind::Drug, name)
        .one()?;
    Some((drug, site.library().drug(drug)?))
}
