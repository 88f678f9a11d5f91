//! A bedside sheet as one page of HTML that needs nothing beside it: no
//! script, no font, no picture from elsewhere.

pub(crate) mod page;
mod plot;
mod sources;
mod values;

pub use sources::{Source, Sources};

use gutta_checks::Options;
use gutta_notation::{Fact, StanzaKind};
use gutta_protocol::model::Library;
use gutta_protocol::{StanzaId, Workspace};
use maud::Markup;

use crate::sheet::{Sheet, errors, included, sheet};

/// A page of HTML: whatever an author wrote is escaped in it.
#[derive(Clone, Debug)]
pub struct Html(Markup);

impl Html {
    pub(crate) const fn of(page: Markup) -> Self {
        Self(page)
    }

    /// The page's text.
    #[must_use]
    pub fn into_string(self) -> String {
        self.0.into_string()
    }
}

/// What is printed.
pub struct Document {
    /// The set that the sheets are of.
    pub set: Option<Set>,
    /// A sheet an order.
    pub sheets: Vec<Printed>,
    /// Other pages of a site: where, and what it is called.
    pub links: Vec<(String, String)>,
}

/// A sheet, and the files it comes from.
pub struct Printed {
    /// What it says.
    pub sheet: Sheet,
    /// Its files, by path.
    pub sources: Vec<Source>,
}

/// What a set says beside its orders.
pub struct Set {
    /// Its name.
    name: String,
    /// Its title; where it has none, its name.
    title: String,
    /// Its lines as written, those for people among them.
    lines: Vec<String>,
}

impl Set {
    /// The set of this stanza.
    #[must_use]
    pub fn of(workspace: &Workspace, library: &Library, id: StanzaId) -> Self {
        let stanza = workspace.stanza(id);
        let name = library
            .set(id)
            .map(|set| set.name.to_string())
            .unwrap_or_default();
        let written = stanza
            .lines
            .iter()
            .filter(|line| !matches!(line.fact, Fact::Include(_)));
        let lines = written.map(|line| workspace.written(workspace.place(id, line.span)));
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

/// The page of an order or a set.
///
/// # Errors
///
/// Why there is none, a sentence each.
pub fn document(
    workspace: &Workspace,
    library: &Library,
    sources: &mut Sources,
    id: StanzaId,
    options: &Options,
) -> Result<Document, Vec<String>> {
    let (orders, set, mut reasons) = if workspace.stanza(id).kind == StanzaKind::Set {
        let (orders, mut unknown) = included(workspace, library, id);
        let own = errors(workspace, library, id, options);
        unknown.extend(own);
        (orders, Some(id), unknown)
    } else {
        (vec![id], None, Vec::new())
    };
    let mut sheets: Vec<Sheet> = Vec::new();
    for order in orders {
        match sheet(workspace, library, order, options) {
            Ok(sheet) => sheets.push(sheet),
            Err(why) => reasons.extend(why),
        }
    }
    if !reasons.is_empty() || sheets.is_empty() {
        reasons.dedup();
        return Err(reasons);
    }
    let printed = sheets.into_iter().map(|sheet| Printed {
        sources: sources.of_sheet(workspace, &sheet),
        sheet,
    });
    Ok(Document {
        set: set.map(|set| Set::of(workspace, library, set)),
        sheets: printed.collect(),
        links: Vec::new(),
    })
}
