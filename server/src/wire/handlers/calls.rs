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
use crate::wire::worker::Desk;
use crate::wire::{from_proto, to_proto};

/// The sets, orders and drugs at the place.
pub(in crate::wire) fn prepare(
    desk: &Desk,
    at: &TextDocumentPositionParams,
) -> Option<Vec<CallHierarchyItem>> {
    let (file, offset) = from_proto::place(&desk.state, at)?;
    let ids = calls::callable(desk.state.site(file)?, offset);
    let items = ids.into_iter().filter_map(|id| item(desk, file.0, id));
    let items: Vec<_> = items.collect();
    (!items.is_empty()).then_some(items)
}

/// The orders that give the drug, the sets that include the order.
pub(in crate::wire) fn incoming(
    desk: &Desk,
    item: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyIncomingCall>> {
    let ((root, file), id) = found(desk, item)?;
    let site = desk.state.site((root, file))?;
    let calls = calls::incoming(site, id).into_iter().filter_map(|call| {
        Some(CallHierarchyIncomingCall {
            from: self::item(desk, root, call.other)?,
            from_ranges: ranges(desk, (root, call.other.file), &call)?,
        })
    });
    Some(calls.collect())
}

/// The orders that the set includes, the drug that the order gives.
pub(in crate::wire) fn outgoing(
    desk: &Desk,
    item: &CallHierarchyItem,
) -> Option<Vec<CallHierarchyOutgoingCall>> {
    let (file, id) = found(desk, item)?;
    let site = desk.state.site(file)?;
    let calls = calls::outgoing(site, id).into_iter().filter_map(|call| {
        Some(CallHierarchyOutgoingCall {
            to: self::item(desk, file.0, call.other)?,
            from_ranges: ranges(desk, file, &call)?,
        })
    });
    Some(calls.collect())
}

fn item(desk: &Desk, root: RootId, id: StanzaId) -> Option<CallHierarchyItem> {
    let state = &desk.state;
    let site = state.site((root, id.file))?;
    let stanza = site.workspace.stanza(id);
    let declared = names::stanza(site, id)?;
    let name = to_proto::location(state, root, declared.name)?;
    Some(CallHierarchyItem {
        name: stanza.name.as_ref()?.value.to_string(),
        kind: known(stanza_kind(stanza.kind), &desk.publisher.abilities),
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
fn found(desk: &Desk, item: &CallHierarchyItem) -> Option<(FileRef, StanzaId)> {
    let state = &desk.state;
    let (file, offset) = from_proto::offset(state, &item.uri, item.selection_range.start)?;
    let site = state.site(file)?;
    let fits = |id: &StanzaId| {
        let stanza = site.workspace.stanza(*id);
        let named = stanza
            .name
            .as_ref()
            .is_some_and(|name| name.value == item.name);
        named && known(stanza_kind(stanza.kind), &desk.publisher.abilities) == item.kind
    };
    let here = site.stanza_at(offset).filter(fits);
    let id = here.or_else(|| site.workspace.stanzas_in(file.1).find(fits))?;
    Some((file, id))
}

fn ranges(desk: &Desk, file: FileRef, call: &Call) -> Option<Vec<Range>> {
    desk.state.with_lines(file, |lines| {
        let range = |span: &Span| lines.range(*span);
        call.at.iter().map(range).collect()
    })
}
