//! `textDocument/definition`, `declaration`, `references` and
//! `documentHighlight`.

use tower_lsp::lsp_types::{
    DocumentHighlight, DocumentHighlightKind, DocumentHighlightParams, GotoDefinitionParams,
    GotoDefinitionResponse, Location, LocationLink, ReferenceParams, TextDocumentPositionParams,
};

use crate::features::names::{self, Declaration, Named};
use crate::state::{FileRef, Site};
use crate::wire::context::ServerContext;
use crate::wire::{from_proto, to_proto};

/// Where what stands at the place is declared.
pub(in crate::wire) fn definition(
    server: &ServerContext,
    params: &GotoDefinitionParams,
) -> Option<GotoDefinitionResponse> {
    let at = &params.text_document_position_params;
    let links = server.publisher.abilities.links_definitions;
    found(server, at, links, |site, named| {
        names::declarations(site, &named.target)
    })
}

/// The same; a drug that is mentioned by an `also` name, at that name.
pub(in crate::wire) fn declaration(
    server: &ServerContext,
    params: &GotoDefinitionParams,
) -> Option<GotoDefinitionResponse> {
    let at = &params.text_document_position_params;
    let links = server.publisher.abilities.links_declarations;
    found(server, at, links, |site, named| {
        names::declared_as(site, named)
    })
}

fn found(
    server: &ServerContext,
    at: &TextDocumentPositionParams,
    links: bool,
    declared: impl FnOnce(Site<'_>, &Named) -> Vec<Declaration>,
) -> Option<GotoDefinitionResponse> {
    let state = &server.state;
    let (file, named) = named_at(server, at)?;
    let declared = declared(state.site(file)?, &named);
    if declared.is_empty() {
        return None;
    }
    if !links {
        let locations = declared
            .iter()
            .filter_map(|declared| to_proto::location(state, file.0, declared.name));
        return Some(GotoDefinitionResponse::Array(locations.collect()));
    }
    let origin = state.with_lines(file, |lines| lines.range(named.span))?;
    let links = declared.iter().filter_map(|declared| {
        let name = to_proto::location(state, file.0, declared.name)?;
        let whole = to_proto::location(state, file.0, declared.whole)?;
        Some(LocationLink {
            origin_selection_range: Some(origin),
            target_uri: name.uri,
            target_range: whole.range,
            target_selection_range: name.range,
        })
    });
    Some(GotoDefinitionResponse::Link(links.collect()))
}

fn named_at(server: &ServerContext, at: &TextDocumentPositionParams) -> Option<(FileRef, Named)> {
    let (file, offset) = from_proto::place(&server.state, at)?;
    let named = names::named_at(server.state.site(file)?, offset)?;
    Some((file, named))
}

/// Every place that means the same.
pub(in crate::wire) fn references(
    server: &ServerContext,
    params: &ReferenceParams,
) -> Option<Vec<Location>> {
    let state = &server.state;
    let (file, named) = named_at(server, &params.text_document_position)?;
    let found = names::occurrences(state.site(file)?, &named.target, None);
    let wanted = found
        .into_iter()
        .filter(|found| params.context.include_declaration || !found.declares);
    let locations = wanted.filter_map(|found| to_proto::location(state, file.0, found.place));
    Some(locations.collect())
}

/// The same in the one document: where it is declared, and mentioned.
pub(in crate::wire) fn highlight(
    server: &ServerContext,
    params: &DocumentHighlightParams,
) -> Option<Vec<DocumentHighlight>> {
    let state = &server.state;
    let (file, named) = named_at(server, &params.text_document_position_params)?;
    let found = names::occurrences(state.site(file)?, &named.target, Some(file.1));
    state.with_lines(file, |lines| {
        let highlight = |found: &names::Occurrence| DocumentHighlight {
            range: lines.range(found.place.span),
            kind: Some(if found.declares {
                DocumentHighlightKind::WRITE
            } else {
                DocumentHighlightKind::READ
            }),
        };
        found.iter().map(highlight).collect()
    })
}
