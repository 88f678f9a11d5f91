//! What a change since a commit concerns.

mod changes;

use std::path::Path;

use changes::Changes;
use gutta_checks::words::counted;
use gutta_checks::{Before, Options, concerned};
use gutta_protocol::{FileId, Workspace};
use gutta_server::disk::{EXTENSION, Exclusions};

use crate::failure::Failure;
use crate::files::{Loaded, Root};
use crate::terminal;

/// Leaves, of the files asked about, those that have changed since the
/// revision and those that lean on what has; says how many.
pub(crate) fn narrow(
    loaded: &mut Loaded,
    revision: &str,
    options: &Options,
) -> Result<(), Failure> {
    let is_order = |path: &str| {
        Path::new(path)
            .extension()
            .is_some_and(|end| end == EXTENSION)
    };
    let changes = Changes::since(loaded.root.folder(), revision, is_order)?;
    if let Some(path) = changes.all {
        terminal::tell(&format!(
            "gutta: {path} has changed since {revision}: every file is checked"
        ));
        return Ok(());
    }
    let before = before(&loaded.workspace, &loaded.root, changes);
    let changed = before.len();
    let concerned = concerned(&loaded.workspace, before, options);
    loaded
        .asked
        .retain(|file| concerned.binary_search(file).is_ok());
    terminal::tell(&told(revision, changed, loaded.asked.len()));
    Ok(())
}

/// The files as they were: those that git says have changed, those that it does
/// not keep, and links, of which it does not know what they lead to.
fn before(workspace: &Workspace, root: &Root, changes: Changes) -> Vec<Before> {
    let (excluded, _) = Exclusions::of(root.folder(), &workspace.house);
    let concerns = |path: &str| {
        let full = root.folder().join(path);
        let passed_over = full.exists() || excluded.cover(&full, false);
        workspace.file_at(path).is_some() || !passed_over
    };
    let mut files = changes.files;
    let unknown = |file: &FileId| {
        let path = &workspace.file(*file).path;
        let is_link = root.folder().join(path.as_str()).is_symlink();
        !files.contains_key(path.as_str()) && (is_link || !changes.kept.contains(path.as_str()))
    };
    let unknown: Vec<_> = workspace.file_ids().filter(unknown).collect();
    for file in unknown {
        files.insert(workspace.file(file).path.to_string(), None);
    }
    let files = files.into_iter().filter(|(path, _)| concerns(path));
    files
        .map(|(path, content)| Before {
            path: path.into(),
            content,
        })
        .collect()
}

fn told(revision: &str, changed: usize, asked: usize) -> String {
    let them = match changed {
        0 => return format!("gutta: no order file has changed since {revision}"),
        1 => "it",
        _ => "them",
    };
    format!(
        "gutta: {} changed since {revision}; {} to check, with those that depend on {them}",
        counted(changed, "file"),
        counted(asked, "file")
    )
}
