//! Files that the editor makes, moves and takes away.

use std::path::PathBuf;

use smol_str::SmolStr;
use tower_lsp::lsp_types::{
    FileEvent, FileOperationFilter, FileOperationPattern, FileOperationPatternKind,
    FileOperationRegistrationOptions, FileRename, Url, WorkspaceEdit,
    WorkspaceFileOperationsServerCapabilities,
};

use crate::disk::{self, EXTENSION};
use crate::features::moves;
use crate::state::{Move, RootId};
use crate::wire::context::ServerContext;
use crate::wire::to_proto;

/// What is asked of the client: to tell of order files, and of folders.
pub(in crate::wire) fn capabilities() -> WorkspaceFileOperationsServerCapabilities {
    let filter = |glob: String, kind| FileOperationFilter {
        scheme: Some("file".to_owned()),
        pattern: FileOperationPattern {
            glob,
            matches: Some(kind),
            options: None,
        },
    };
    let options = Some(FileOperationRegistrationOptions {
        filters: vec![
            filter(format!("**/*.{EXTENSION}"), FileOperationPatternKind::File),
            filter("**".to_owned(), FileOperationPatternKind::Folder),
        ],
    });
    WorkspaceFileOperationsServerCapabilities {
        did_create: options.clone(),
        will_rename: options.clone(),
        did_rename: options.clone(),
        did_delete: options,
        ..WorkspaceFileOperationsServerCapabilities::default()
    }
}

/// What `use` lines must say once the files are moved, and what is to be shown
/// to the reader: where something stands against it, no line is changed.
pub(in crate::wire) fn will_rename(
    server: &ServerContext,
    files: &[FileRename],
) -> (Option<WorkspaceEdit>, Vec<String>) {
    let mut said = Vec::new();
    let edit = followed(server, files, &mut said).unwrap_or_else(|why| {
        said.push(why);
        None
    });
    // A file that two repositories hold is spoken of once.
    said.sort();
    said.dedup();
    (edit, said)
}

fn followed(
    server: &ServerContext,
    files: &[FileRename],
    said: &mut Vec<String>,
) -> Result<Option<WorkspaceEdit>, String> {
    let state = &server.state;
    let abilities = &server.publisher.abilities;
    let mut edits = Vec::new();
    for (id, root) in state.roots() {
        let moves = moves(server, id, files)?;
        let Some(first) = root
            .workspace
            .file_ids()
            .next()
            .filter(|_| !moves.is_empty())
        else {
            continue;
        };
        let Some(site) = state.site((id, first)) else {
            continue;
        };
        let looked = state.look_at_moves(id, site, &moves);
        said.extend(looked.besides);
        if !looked.against.is_empty() {
            return Err(looked.against.join(" "));
        }
        let changes = moves::follow(site, &moves)?;
        let places = changes
            .into_iter()
            .filter(|change| state.speaks_of((id, change.place.file)))
            .map(|change| (change.place, change.text));
        edits.extend(to_proto::file_edits(state, id, places)?);
    }
    Ok((!edits.is_empty()).then(|| to_proto::edit_of(edits, abilities)))
}

/// The moves of a repository's files and folders.
fn moves(server: &ServerContext, root: RootId, files: &[FileRename]) -> Result<Vec<Move>, String> {
    let folder = server
        .state
        .root(root)
        .and_then(|root| root.folder.as_deref());
    let Some(folder) = folder else {
        return Ok(Vec::new());
    };
    let inside = |url: &str| -> Option<SmolStr> { disk::relative(folder, &path(url)?) };
    let moves = files.iter().filter_map(|file| {
        let from = inside(&file.old_uri)?;
        let to = inside(&file.new_uri);
        let goes = to.is_some() || path(&file.new_uri).is_some_and(|to| !to.starts_with(folder));
        Some(if goes {
            Ok(Move { from, to })
        } else {
            Err(format!(
                "A file at <{}> could not be read: give it another name.",
                file.new_uri
            ))
        })
    });
    moves.collect()
}

fn path(url: &str) -> Option<PathBuf> {
    disk::path(&Url::parse(url).ok()?)
}

/// Files came, went or moved: what is on the disk holds.
pub(in crate::wire) fn changed<'a>(
    server: &mut ServerContext,
    urls: impl IntoIterator<Item = &'a String>,
) {
    let paths: Vec<_> = urls.into_iter().filter_map(|url| path(url)).collect();
    server.state.changed_on_disk(&paths);
}

/// The same, as the client's watching tells it.
pub(in crate::wire) fn watched(server: &mut ServerContext, changes: &[FileEvent]) {
    let paths = changes.iter().filter_map(|change| disk::path(&change.uri));
    let paths: Vec<_> = paths.collect();
    server.state.changed_on_disk(&paths);
}
