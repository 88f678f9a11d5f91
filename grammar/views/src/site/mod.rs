//! A folder of pages for reviewers: every order and set with its sheet, every
//! drug with the orders that use it, and an index to search.

mod pages;

use gutta_checks::{Options, leans_on};
use gutta_notation::StanzaKind;
use gutta_protocol::model::{self, Library};
use gutta_protocol::{StanzaId, Workspace};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::html::{Document, Html, Sources, document};

/// The folders of pages.
pub const FOLDERS: [&str; 4] = ["orders", "sets", "drugs", "ingredients"];

/// All pages.
pub struct Site {
    orders: Vec<Entry>,
    sets: Vec<Entry>,
    drugs: Vec<Drug>,
}

/// An order or a set.
struct Entry {
    name: String,
    title: String,
    /// `orders/noradrenaline.html`.
    path: String,
    /// What it is looked for by, beside name and title.
    about: Vec<String>,
    /// Its sheet; or why there is none.
    sheet: Result<Document, Vec<String>>,
}

/// A drug, or an ingredient.
struct Drug {
    kind: StanzaKind,
    name: String,
    title: String,
    path: String,
    /// As written.
    lines: Vec<String>,
    /// The pages of the orders that use it: where, and what it is called.
    used_by: Vec<(String, String)>,
}

impl Entry {
    fn is_draft(&self) -> bool {
        let sheets = self.sheet.iter().flat_map(|document| &document.sheets);
        sheets
            .into_iter()
            .any(|printed| printed.sheet.review.is_draft())
    }
}

impl Site {
    /// The pages of a whole workspace.
    #[must_use]
    pub fn of(
        workspace: &Workspace,
        library: &Library,
        sources: &mut Sources,
        options: &Options,
    ) -> Self {
        let mut paths = Paths::default();
        let mut places: FxHashMap<StanzaId, (String, String)> = FxHashMap::default();
        let kinds = [
            StanzaKind::Order,
            StanzaKind::Set,
            StanzaKind::Drug,
            StanzaKind::Ingredient,
        ];
        for (kind, folder) in kinds.into_iter().zip(FOLDERS) {
            for id in workspace.stanzas_of(kind) {
                let path = paths.of(folder, &name_of(workspace, id));
                places.insert(id, (path, title_of(workspace, id)));
            }
        }
        let place = |id: StanzaId| places.get(&id).cloned().unwrap_or_default();
        let mut used: FxHashMap<StanzaId, Vec<StanzaId>> = FxHashMap::default();
        let mut orders = Vec::new();
        for id in workspace.stanzas_of(StanzaKind::Order) {
            let order = model::order(workspace, library, id);
            let mut leaned = leans_on(&order);
            leaned.dedup();
            for on in &leaned {
                let users = used.entry(*on).or_default();
                if !users.contains(&id) {
                    users.push(id);
                }
            }
            let drug = order.drug.as_ref().map(|drug| place(drug.id));
            let mut sheet = document(workspace, library, sources, id, options);
            if let Ok(document) = &mut sheet {
                document
                    .links
                    .push(("../index.html".to_owned(), "All orders".to_owned()));
                document.links.extend(
                    drug.clone()
                        .map(|(path, title)| (format!("../{path}"), title)),
                );
            }
            let named = leaned.iter().map(|id| title_of(workspace, *id));
            orders.push(entry(workspace, id, place(id).0, named.collect(), sheet));
        }
        let sets = workspace.stanzas_of(StanzaKind::Set).map(|id| {
            let mut sheet = document(workspace, library, sources, id, options);
            if let Ok(document) = &mut sheet {
                document
                    .links
                    .push(("../index.html".to_owned(), "All orders".to_owned()));
            }
            entry(workspace, id, place(id).0, Vec::new(), sheet)
        });
        let sets = sets.collect();
        let reference = |kind| workspace.stanzas_of(kind).map(move |id| (kind, id));
        let limiting = reference(StanzaKind::Drug).chain(reference(StanzaKind::Ingredient));
        let drugs = limiting.map(|(kind, id)| {
            let stanza = workspace.stanza(id);
            let lines = stanza.lines.iter();
            let written = lines.map(|line| workspace.written(workspace.place(id, line.span)));
            Drug {
                kind,
                name: name_of(workspace, id),
                title: title_of(workspace, id),
                path: place(id).0,
                lines: written.collect(),
                used_by: used
                    .get(&id)
                    .into_iter()
                    .flatten()
                    .map(|order| place(*order))
                    .collect(),
            }
        });
        let mut site = Self {
            drugs: drugs.collect(),
            orders,
            sets,
        };
        site.orders
            .sort_by(|one, other| one.title.cmp(&other.title));
        site.sets
            .sort_by(|one: &Entry, other| one.title.cmp(&other.title));
        site.drugs.sort_by(|one, other| one.title.cmp(&other.title));
        site
    }

    /// Every page with its path from the folder. The index comes last, so that
    /// what it leads to is there.
    pub fn pages(&self) -> impl Iterator<Item = (&str, Html)> {
        let entries = self.orders.iter().chain(&self.sets);
        let sheets = entries.map(|entry| (entry.path.as_str(), entry.html()));
        let drugs = self.drugs.iter();
        let drugs = drugs.map(|drug| (drug.path.as_str(), drug.html()));
        // Each is made when it is asked for: a site may be large.
        let index = std::iter::once_with(|| ("index.html", self.index()));
        sheets.chain(drugs).chain(index)
    }

    /// How many orders and sets have no sheet.
    #[must_use]
    pub fn without_sheet(&self) -> usize {
        let all = self.orders.iter().chain(&self.sets);
        all.filter(|entry| entry.sheet.is_err()).count()
    }
}

fn entry(
    workspace: &Workspace,
    id: StanzaId,
    path: String,
    about: Vec<String>,
    sheet: Result<Document, Vec<String>>,
) -> Entry {
    Entry {
        name: name_of(workspace, id),
        title: title_of(workspace, id),
        path,
        about,
        sheet,
    }
}

fn name_of(workspace: &Workspace, id: StanzaId) -> String {
    let name = workspace.stanza(id).name.as_ref();
    name.map_or_else(
        || "without a name".to_owned(),
        |name| name.value.to_string(),
    )
}

fn title_of(workspace: &Workspace, id: StanzaId) -> String {
    let title = workspace.stanza(id).title.as_ref();
    title.map_or_else(|| name_of(workspace, id), |title| title.value.to_string())
}

/// The length of a page's name in bytes, without its count and ending: file
/// systems allow 255, some of them 143.
const LONGEST_NAME: usize = 120;

/// Names of files, each once.
#[derive(Default)]
struct Paths(FxHashSet<String>);

impl Paths {
    /// A name is letters, digits and hyphens; whatever else an unread one has
    /// becomes a hyphen. One borne twice, in files that do not see each other,
    /// is counted.
    fn of(&mut self, folder: &str, name: &str) -> String {
        let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
        let mut plain: String = name.chars().map(plain).collect();
        plain.truncate(plain.floor_char_boundary(LONGEST_NAME));
        let mut path = format!("{folder}/{plain}.html");
        let mut count = 1;
        while !self.0.insert(path.to_lowercase()) {
            count += 1;
            path = format!("{folder}/{plain}-{count}.html");
        }
        path
    }
}
