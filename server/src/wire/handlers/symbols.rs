//! `textDocument/documentSymbol` and `workspace/symbol`.

use gutta_notation::{Span, StanzaKind};
use tower_lsp::lsp_types::{
    DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, Location, SymbolInformation,
    SymbolKind, Url, WorkspaceSymbolParams,
};

use crate::features::outline::{self, Entry, Role};
use crate::text::Forward;
use crate::wire::abilities::Abilities;
use crate::wire::context::ServerContext;
use crate::wire::to_proto;

/// So many symbols of a workspace are told at most, the best first: an editor
/// asks again as more is typed.
const MOST: usize = 2_000;

/// The stanzas of a document, and what is in them.
pub(in crate::wire) fn document(
    server: &ServerContext,
    params: &DocumentSymbolParams,
) -> Option<DocumentSymbolResponse> {
    let url = &params.text_document.uri;
    let site = server.state.site(server.state.file(url)?)?;
    let entries = outline::outline(site);
    let mut forward = Forward::new(&site.source().text, server.state.encoding);
    let client = &server.publisher.abilities;
    if !client.nests_symbols {
        let mut flat = Vec::new();
        entries
            .into_iter()
            .for_each(|entry| flatten(entry, None, url, client, &mut forward, &mut flat));
        return Some(DocumentSymbolResponse::Flat(flat));
    }
    let symbols = entries
        .into_iter()
        .map(|entry| symbol(entry, client, &mut forward));
    Some(DocumentSymbolResponse::Nested(symbols.collect()))
}

#[allow(deprecated, reason = "the type cannot be made without the field")]
fn symbol(entry: Entry, client: &Abilities, forward: &mut Forward<'_>) -> DocumentSymbol {
    let start = forward.position(entry.span.start);
    let selection_range = forward.range(entry.own);
    let children: Vec<_> = entry
        .children
        .into_iter()
        .map(|child| symbol(child, client, forward))
        .collect();
    let end = forward.position(entry.span.end);
    DocumentSymbol {
        name: to_proto::seen(&entry.name),
        detail: (!entry.detail.is_empty()).then(|| to_proto::seen(&entry.detail)),
        kind: known(kind(entry.role), client),
        tags: None,
        deprecated: None,
        range: tower_lsp::lsp_types::Range::new(start, end),
        selection_range,
        children: (!children.is_empty()).then_some(children),
    }
}

#[allow(deprecated, reason = "the type cannot be made without the field")]
fn flatten(
    entry: Entry,
    container: Option<&str>,
    url: &Url,
    client: &Abilities,
    forward: &mut Forward<'_>,
    out: &mut Vec<SymbolInformation>,
) {
    out.push(SymbolInformation {
        name: to_proto::seen(&entry.name),
        kind: known(kind(entry.role), client),
        tags: None,
        deprecated: None,
        location: Location::new(url.clone(), forward.range(entry.own)),
        container_name: container.map(to_proto::seen),
    });
    for child in entry.children {
        flatten(child, Some(&entry.name), url, client, forward, out);
    }
}

/// The stanzas of every repository that fit the query.
#[allow(deprecated, reason = "the type cannot be made without the field")]
pub(in crate::wire) fn workspace(
    server: &ServerContext,
    params: &WorkspaceSymbolParams,
) -> Vec<SymbolInformation> {
    let state = &server.state;
    let mut hits: Vec<_> = state
        .roots()
        .flat_map(|(root, held)| {
            let hits = outline::search(&held.workspace, &params.query).into_iter();
            let hits = hits.filter(move |hit| state.speaks_of((root, hit.id.file)));
            hits.map(move |hit| (root, held, hit))
        })
        .collect();
    hits.sort_by(|(.., one), (.., other)| one.cmp(other));
    hits.truncate(MOST);
    // By file, so that each file's lines are counted once.
    hits.sort_by_key(|(root, _, hit)| (*root, hit.id));
    let mut symbols: Vec<_> = hits
        .into_iter()
        .filter_map(|(root, held, hit)| {
            let stanza = held.workspace.stanza(hit.id);
            let span = Span::new(hit.start, hit.end);
            let place = held.workspace.place(hit.id, span);
            let symbol = SymbolInformation {
                name: to_proto::seen(&hit.name),
                kind: known(stanza_kind(stanza.kind), &server.publisher.abilities),
                tags: None,
                deprecated: None,
                location: to_proto::location(state, root, place)?,
                container_name: stanza.title.as_ref().map(|title| title.value.to_string()),
            };
            Some((hit, symbol))
        })
        .collect();
    symbols.sort_by(|(one, _), (other, _)| one.cmp(other));
    symbols.into_iter().map(|(_, symbol)| symbol).collect()
}

/// The kind, or the nearest of the first ones, where the client knows no other.
pub(super) fn known(kind: SymbolKind, client: &Abilities) -> SymbolKind {
    match kind {
        SymbolKind::STRUCT if !client.all_symbols => SymbolKind::CLASS,
        SymbolKind::EVENT if !client.all_symbols => SymbolKind::METHOD,
        kind => kind,
    }
}

const fn kind(role: Role) -> SymbolKind {
    match role {
        Role::Stanza(kind) => stanza_kind(kind),
        Role::Phase => SymbolKind::METHOD,
        Role::Bag => SymbolKind::PROPERTY,
        Role::Giving => SymbolKind::EVENT,
        Role::Limit => SymbolKind::CONSTANT,
        Role::Content | Role::Member => SymbolKind::FIELD,
    }
}

pub(super) const fn stanza_kind(kind: StanzaKind) -> SymbolKind {
    match kind {
        StanzaKind::Use | StanzaKind::Preamble | StanzaKind::Unknown => SymbolKind::FILE,
        StanzaKind::Pump | StanzaKind::GivingSet => SymbolKind::INTERFACE,
        StanzaKind::Area => SymbolKind::NAMESPACE,
        StanzaKind::Solution => SymbolKind::STRUCT,
        StanzaKind::Ingredient => SymbolKind::FIELD,
        StanzaKind::Drug => SymbolKind::CLASS,
        StanzaKind::Order | StanzaKind::Specimen => SymbolKind::FUNCTION,
        StanzaKind::Set => SymbolKind::PACKAGE,
    }
}
