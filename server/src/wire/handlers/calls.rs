//! `textDocument/prepareCallHierarchy`, `callHierarchy/incomingCalls` and
//! `outgoingCalls`.

use gutta_notation::Span;
use gutta_protocol::StanzaId;
use tower_lsp::lsp_types::{
    CallHierarchyIncomingCall, CallHierarchyItem, CallHierarchyOutgoingCall, Range,
    TextDocumentPositionParams,
};

use super::symbols::{known, stanza_kind};
use crate::features::calls::{self, Call};
use crate::features::names;
use crate::state::{FileRef, RootId};
use crate::wire::context::ServerContext;
use crate::wire::{from_proto, to_proto};

/// The sets, orders and drugs at the place.
pub(in crate::wire) fn prepare(
    server: &ServerContext,
    at: &TextDocumentPositionParams,
) -> Option<Vec<CallHierarchyItem>> {
    let (file, offset) = from_proto::place(&server.state, at)?;
    let ids = calls::callable(server.state.site(file)?, offset);
    let items = ids.into_iter().filter_map(|id| item(server, file.0, id));
    let items: Vec<_> = items.collect();
    (!items.is_empty()).then_some(items)
}

/// The orders that give the drug, the sets that include the order.
pub(in crate::wire) fn incoming(
    server: &ServerContext,
    item: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyIncomingCall>> {
    let ((root, file), id) = found(server, item)?;
    let site = server.state.site((root, file))?;
    let calls = calls::incoming(site, id).into_iter().filter_map(|call| {
        Some(CallHierarchyIncomingCall {
            from: self::item(server, root, call.other)?,
            from_ranges: ranges(server, (root, call.other.file), &call)?,
        })
    });
    Some(calls.collect())
}

/// The orders that the set includes, the drug that the order gives.
pub(in crate::wire) fn outgoing(
    server: &ServerContext,
    item: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyOutgoingCall>> {
    let (file, id) = found(server, item)?;
    let site = server.state.site(file)?;
    let calls = calls::outgoing(site, id).into_iter().filter_map(|call| {
        Some(CallHierarchyOutgoingCall {
            to: self::item(server, file.0, call.other)?,
            from_ranges: ranges(server, file, &call)?,
        })
    });
    Some(calls.collect())
}

fn item(server: &ServerContext, root: RootId, id: StanzaId) -> Option<CallHierarchyItem> {
    let state = &server.state;
    let site = state.site((root, id.file))?;
    let stanza = site.workspace.stanza(id);
    let declared = names::stanza(site, id)?;
    let name = to_proto::location(state, root, declared.name)?;
    Some(CallHierarchyItem {
        name: stanza.name.as_ref()?.value.to_string(),
        kind: known(stanza_kind(stanza.kind), &server.publisher.abilities),
        tags: None,
        detail: stanza.title.as_ref().map(|title| title.value.to_string()),
        uri: name.uri,
        range: to_proto::location(state, root, declared.whole)?.range,
        selection_range: name.range,
        data: None,
    })
}

/// The stanza that an item was made of, if one of its name and kind still
/// stands in the file: the one at its place, else the first.
fn found(server: &ServerContext, item: &CallHierarchyItem) -> Option<(FileRef, StanzaId)> {
    let state = &server.state;
    let (file, offset) = from_proto::offset(state, &item.uri, item.selection_range.start)?;
    let site = state.site(file)?;
    let fits = |id: &StanzaId| {
        let stanza = site.workspace.stanza(*id);
        let named = stanza
            .name
            .as_ref()
            .is_some_and(|name| name.value == item.name);
        named && known(stanza_kind(stanza.kind), &server.publisher.abilities) == item.kind
    };
    let here = site.stanza_at(offset).filter(fits);
    let id = here.or_else(|| site.workspace.stanzas_in(file.1).find(fits))?;
    Some((file, id))
}

fn ranges(server: &ServerContext, file: FileRef, call: &Call) -> Option<Vec<Range>> {
    server.state.with_lines(file, |lines| {
        let range = |span: &Span| lines.range(*span);
        call.at.iter().map(range).collect()
    })
}
