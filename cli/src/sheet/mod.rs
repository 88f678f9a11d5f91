//! A bedside sheet as one page of HTML that needs nothing beside it: no
//! script, no font, no picture from elsewhere.

mod page;
mod plot;
mod sources;
mod values;

pub(crate) use sources::{Source, Sources};

use gutta_checks::sheet::Sheet;
use gutta_notation::Fact;
use gutta_protocol::model::Library;
use gutta_protocol::{StanzaId, Workspace};

/// What is printed.
pub(crate) struct Document {
    /// The set that the sheets are of.
    pub(crate) set: Option<Set>,
    /// A sheet an order.
    pub(crate) sheets: Vec<Printed>,
}

/// A sheet, and the files it comes from.
pub(crate) struct Printed {
    /// What it says.
    pub(crate) sheet: Sheet,
    /// Its files, by path.
    pub(crate) sources: Vec<Source>,
}

/// What a set says beside its orders.
pub(crate) struct Set {
    /// Its name.
    name: String,
    /// Its title; where it has none, its name.
    title: String,
    /// Its lines as written, those for people among them.
    lines: Vec<String>,
}

impl Set {
    /// The set of this stanza.
    pub(crate) fn of(workspace: &Workspace, library: &Library, id: StanzaId) -> Self {
        let stanza = workspace.stanza(id);
        let name = library
            .set(id)
            .map(|set| set.name.to_string())
            .unwrap_or_default();
        let written = stanza
            .lines
            .iter()
            .filter(|line| !matches!(line.fact, Fact::Include(_)));
        let lines = written.map(|line| {
            let text = workspace.text_at(workspace.place(id, line.span));
            text.split_whitespace().collect::<Vec<_>>().join(" ")
        });
        Self {
            title: stanza
                .title
                .as_ref()
                .map_or_else(|| name.clone(), |title| title.value.to_string()),
            lines: lines.collect(),
            name,
        }
    }
}
