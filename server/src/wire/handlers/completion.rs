//! `textDocument/completion` and `completionItem/resolve`.

use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types::{
    CompletionItem, CompletionItemKind, CompletionParams, CompletionResponse, CompletionTextEdit,
    Documentation, InsertTextFormat, Range, TextEdit, Url,
};

use crate::features::completion::{About, Item, Kind, complete, documentation};
use crate::wire::abilities::Abilities;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;
use crate::wire::to_proto;

/// After these more can be said.
pub(in crate::wire) const TRIGGERS: [&str; 4] = [" ", "/", ".", "\""];

/// What tells an item again when its documentation is asked for. It names
/// things and no places, so that it holds while the author types on.
#[derive(Debug, Deserialize, Serialize)]
struct Ticket {
    uri: Url,
    about: About,
}

pub(in crate::wire) fn answer(
    server: &ServerContext,
    params: &CompletionParams,
) -> Option<CompletionResponse> {
    let at = &params.text_document_position;
    let (file, offset) = from_proto::place(&server.state, at)?;
    let offer = complete(&server.state.site(file)?, offset)?;
    let range = server
        .state
        .with_lines(file, |lines| lines.range(offer.span))?;
    let abilities = &server.publisher.abilities;
    let uri = &at.text_document.uri;
    let items = offer.items.into_iter().enumerate();
    let items = items.map(|(place, item)| encode(place, item, range, abilities, uri));
    Some(CompletionResponse::Array(items.collect()))
}

/// The item with what there is to be read of it.
pub(in crate::wire) fn resolve(server: &ServerContext, mut item: CompletionItem) -> CompletionItem {
    item.documentation = read_of(server, &item);
    item
}

fn read_of(server: &ServerContext, item: &CompletionItem) -> Option<Documentation> {
    let ticket = Ticket::deserialize(item.data.as_ref()?).ok()?;
    let file = server.state.file(&ticket.uri)?;
    let value = documentation(&server.state.site(file)?, &ticket.about)?;
    let markup = server.publisher.abilities.completions;
    Some(Documentation::MarkupContent(to_proto::markup(
        value, markup,
    )))
}

fn encode(place: usize, item: Item, range: Range, client: &Abilities, uri: &Url) -> CompletionItem {
    let (format, text) = match item.snippet.filter(|_| client.snippets) {
        Some(snippet) => (InsertTextFormat::SNIPPET, snippet),
        None => (InsertTextFormat::PLAIN_TEXT, item.text),
    };
    let ticket = item.about.map(|about| Ticket {
        uri: uri.clone(),
        about,
    });
    CompletionItem {
        label: to_proto::seen(&item.label),
        kind: Some(kind(item.kind, client.all_completions)),
        detail: item.detail.as_deref().map(to_proto::seen),
        sort_text: Some(format!("{place:05}")),
        insert_text_format: Some(format),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(range, text))),
        data: ticket.and_then(|ticket| serde_json::to_value(ticket).ok()),
        ..CompletionItem::default()
    }
}

/// The kind; of those that came later only where the client knows them.
const fn kind(kind: Kind, all: bool) -> CompletionItemKind {
    match kind {
        Kind::Choice | Kind::Rule if !all => CompletionItemKind::VALUE,
        Kind::Stanza => CompletionItemKind::CLASS,
        Kind::Word => CompletionItemKind::KEYWORD,
        Kind::Name => CompletionItemKind::REFERENCE,
        Kind::Unit => CompletionItemKind::UNIT,
        Kind::Choice => CompletionItemKind::ENUM_MEMBER,
        Kind::Rule => CompletionItemKind::CONSTANT,
        Kind::Date => CompletionItemKind::VALUE,
    }
}
