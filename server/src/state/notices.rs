//! Of which open documents less is told than their editor shows, and why: one
//! that looks clean is to be clean.

use gutta_checks::Severity;
use tower_lsp::lsp_types::Url;

use super::{FileRef, State};
use crate::disk::{self, SkipReason};

/// What is to stand before all findings of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Notice {
    pub(crate) severity: Severity,
    pub(crate) message: String,
}

impl State {
    /// What is held of the document is not what the client shows: nothing is
    /// told of it until all of its text comes. Who leans on it leans on the disk.
    pub(crate) fn lose(&mut self, url: Url) {
        self.close(&url);
        let path = disk::path(&url);
        self.lost.insert(url, path);
    }

    /// Whether the file's text is another than the client shows.
    pub(crate) fn is_lost(&self, (id, file): FileRef) -> bool {
        let path = || self.roots.get(&id)?.path_of(file);
        !self.lost.is_empty()
            && path().is_some_and(|path| self.lost.values().flatten().any(|lost| *lost == path))
    }

    /// Whether the client has a document of this URL open.
    pub(crate) fn is_open(&self, url: &Url) -> bool {
        self.is_held(url) || self.lost.contains_key(url)
    }

    /// Whether the text of such a document is held.
    pub(crate) fn is_held(&self, url: &Url) -> bool {
        self.documents.contains_key(url)
    }

    /// The documents that the client has open and that are not judged.
    pub(crate) fn unjudged(&self) -> impl Iterator<Item = &Url> {
        let open = self.documents.keys().chain(self.lost.keys());
        open.filter(|url| !self.file(url).is_some_and(|file| self.judges(file)))
    }

    /// What is to be said of a document that is open, if anything is.
    pub(crate) fn notice(&self, url: &Url) -> Option<Notice> {
        let said = |severity, message: String| Some(Notice { severity, message });
        if self.lost.contains_key(url) {
            let message = "The text of this file did not arrive completely, and none of it is checked: close the file and open it again.";
            return said(Severity::Error, message.to_owned());
        }
        let document = self.documents.get(url)?;
        let judged = self.file(url).is_some_and(|file| self.judges(file));
        let home = document
            .home
            .as_ref()
            .and_then(|(id, _)| self.roots.get(id));
        let folder = home.and_then(|root| root.folder.as_deref());
        let shown = |path: &std::path::Path| {
            let own = folder.and_then(|folder| disk::relative(folder, path));
            own.map_or_else(|| path.display().to_string(), Into::into)
        };
        match &document.passed {
            Some(SkipReason::Excluded) if !judged => said(
                Severity::Information,
                "This file is left out by `exclude` in gutta.toml, and is not checked.".to_owned(),
            ),
            Some(why) if judged => said(
                if why.is_fault() {
                    Severity::Error
                } else {
                    Severity::Information
                },
                format!(
                    "`gutta check` does not read this file ({}): its findings are shown in the editor only.",
                    why.told(shown)
                ),
            ),
            None if judged => None,
            Some(why) => said(
                Severity::Error,
                format!(
                    "This file is not checked, and an order could be in it: {}.",
                    why.told(shown)
                ),
            ),
            None => said(
                Severity::Error,
                "This file is not checked, and an order could be in it: its name cannot be read."
                    .to_owned(),
            ),
        }
    }
}
