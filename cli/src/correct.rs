//! Correcting spelling in files, and what that changes.

use std::path::Path;

use gutta_checks::fixes::spell;
use gutta_checks::{Finding, Options};
use gutta_notation::visible_line;
use gutta_server::disk::EXTENSION;
use smol_str::SmolStr;

use crate::failure::Failure;
use crate::files::{Loaded, Rewrite, Rewritten, Root, rewrite};
use crate::unified::unified;

/// A file and its text before and after.
pub(crate) struct Changed {
    /// From the root.
    pub(crate) path: SmolStr,
    before: String,
    after: String,
}

impl Changed {
    /// What has changed, if anything has.
    pub(crate) fn of(path: SmolStr, before: String, after: String) -> Option<Self> {
        (before != after).then_some(Self {
            path,
            before,
            after,
        })
    }

    /// The text before.
    pub(crate) fn before(&self) -> &str {
        &self.before
    }

    /// The change as a unified diff.
    pub(crate) fn diff(&self) -> String {
        let path = visible_line(&self.path);
        let (old, new) = (format!("a/{path}"), format!("b/{path}"));
        unified(&self.before, &self.after, &old, &new)
    }
}

/// Writes the new texts, each where the text before still stands. What does not
/// bear an order file's name is none, whoever named it: then nothing is written.
pub(crate) fn write_changed(root: &Root, changed: &[Changed]) -> Result<Rewritten, Failure> {
    let is_order = |path: &str| {
        let end = Path::new(path).extension();
        end.is_some_and(|end| end.eq_ignore_ascii_case(EXTENSION))
    };
    if let Some(other) = changed.iter().find(|change| !is_order(&change.path)) {
        return Err(Failure::new(format!(
            "{} is not written: the name of an order file ends in .{EXTENSION}",
            root.shown(&other.path)
        )));
    }
    let files = changed.iter().map(|change| Rewrite {
        path: &change.path,
        before: &change.before,
        after: &change.after,
    });
    rewrite(root, &files.collect::<Vec<_>>())
}

/// Corrects the spelling in the files in which `findings` offer it, in the
/// workspace alone: nothing is written. Returns what changed.
pub(crate) fn correct(
    loaded: &mut Loaded,
    findings: &[Finding],
    options: &Options,
) -> Vec<Changed> {
    let offers = |finding: &&Finding| finding.fixes.iter().any(|fix| fix.spelling);
    let mut files: Vec<_> = findings
        .iter()
        .filter(offers)
        .map(|finding| finding.place.file)
        .filter(|file| loaded.asked.contains(file))
        .collect();
    files.sort_unstable();
    files.dedup();
    let changed = files.into_iter().filter_map(|id| {
        let file = loaded.workspace.file(id);
        let (path, before) = (file.path.clone(), file.text.to_string());
        let after = spell(&mut loaded.workspace, id, options)?;
        Changed::of(path, before, after)
    });
    changed.collect()
}
