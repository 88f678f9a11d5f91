//! `textDocument/prepareRename` and `rename`.

use ropey::Rope;
use tower_lsp::lsp_types::{
    PrepareRenameResponse, RenameParams, TextDocumentPositionParams, TextEdit, Url, WorkspaceEdit,
};

use crate::disk;
use crate::features::names;
use crate::state::RootId;
use crate::text::Lines;
use crate::wire::context::ServerContext;
use crate::wire::{from_proto, to_proto};

/// What would be renamed, and how it is called now.
///
/// # Errors
/// Why it cannot be renamed.
pub(in crate::wire) fn prepare(
    server: &ServerContext,
    at: &TextDocumentPositionParams,
) -> Result<Option<PrepareRenameResponse>, String> {
    let state = &server.state;
    let Some((file, offset)) = from_proto::place(state, at) else {
        return Ok(None);
    };
    let Some(site) = state.site(file) else {
        return Ok(None);
    };
    let Some(named) = names::prepare(site, offset)? else {
        return Ok(None);
    };
    let range = state.with_lines(file, |lines| lines.range(named.span));
    Ok(
        range.map(|range| PrepareRenameResponse::RangeWithPlaceholder {
            range,
            placeholder: named.name.to_string(),
        }),
    )
}

/// Every edit that the new name needs.
///
/// # Errors
/// Why the thing cannot be called so.
pub(in crate::wire) fn rename(
    server: &ServerContext,
    params: &RenameParams,
) -> Result<Option<WorkspaceEdit>, String> {
    let state = &server.state;
    let abilities = &server.publisher.abilities;
    let Some((file, offset)) = from_proto::place(state, &params.text_document_position) else {
        return Ok(None);
    };
    let Some(site) = state.site(file) else {
        return Ok(None);
    };
    let changes = names::rename(site, offset, &params.new_name)?;
    let new = changes.first().map(|change| change.text.clone());
    let places = changes
        .into_iter()
        .map(|change| (change.place, change.text));
    let mut edit = to_proto::workspace_edit(state, file.0, places, abilities)?;
    if let (Some(key), Some(new)) = (names::default_key(site, offset), new) {
        let (url, change) = house_change(server, file.0, key, &new).ok_or_else(|| {
            format!(
                "`{}` names it as the hospital's usual {key}, and could not be changed with it.",
                disk::HOUSE_FILE
            )
        })?;
        to_proto::add_edit(&mut edit, url, change);
    }
    Ok(Some(edit))
}

/// The house's default, by its new name.
fn house_change(
    server: &ServerContext,
    root: RootId,
    key: &str,
    new: &str,
) -> Option<(Url, TextEdit)> {
    let folder = server.state.root(root)?.folder.as_deref()?;
    let (text, span) = disk::house_default(folder, key)?;
    let lines = Lines {
        rope: &Rope::from_str(&text),
        encoding: server.state.encoding,
    };
    let change = TextEdit::new(lines.range(span), format!("\"{new}\""));
    let url = Url::from_file_path(folder.join(disk::HOUSE_FILE)).ok()?;
    Some((url, change))
}
