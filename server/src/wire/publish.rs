//! Findings on their way to the client: pushed as they change, or, where the
//! client fetches them, a word that it should.

use std::collections::BTreeSet;

use rustc_hash::FxHashMap;
use tower_lsp::lsp_types::{Diagnostic, Url};

use super::abilities::Abilities;
use super::outgoing::{Outgoing, Progress, Refresh};
use super::to_proto;
use crate::state::{FileRef, State};

/// What was told, and what is yet to tell.
#[derive(Debug, Default)]
pub(super) struct Publisher {
    pub(super) abilities: Abilities,
    /// Files whose findings changed and are yet to be told.
    due: BTreeSet<FileRef>,
    /// What each file was last told to hold, where that is not nothing.
    told: FxHashMap<Url, Vec<Diagnostic>>,
    /// What stands of what the client fetches and is no file's finding.
    fetched: Vec<(Url, Vec<Diagnostic>)>,
    /// The state's shape when that was last looked at.
    shape: u64,
    /// The document that the client edited last: it asks of that by itself.
    /// What it asked of one edited before may be otherwise since.
    pub(super) edited: Option<Url>,
    /// Whether other documents' findings changed than that one's.
    others: bool,
    progress: Option<(Progress, usize)>,
    /// Whether the client fetches the findings of all files together. Until it
    /// does, it would never hear of those that are not open, and is told of
    /// them.
    fetches_all: bool,
    /// Whether the client was told anything yet: the first time it asks by
    /// itself.
    ever: bool,
}

impl Publisher {
    /// Whether there is something to tell.
    pub(super) fn is_due(&self, state: &State) -> bool {
        let mut roots = state.roots();
        // A question may have settled a file before its turn came.
        !self.due.is_empty()
            || self.shape != state.shape
            || roots.any(|(_, root)| root.checked.has_changed())
    }

    /// Shows that the first index goes on.
    pub(super) fn begin(&mut self, progress: Progress, stanzas: usize) {
        self.progress = Some((progress, stanzas));
    }

    /// All is to be told again, as after a change of the settings.
    pub(super) fn all_again(&mut self, state: &State) {
        self.all_due(state);
        self.edited = None;
    }

    fn all_due(&mut self, state: &State) {
        for (id, root) in state.roots() {
            let files = root.workspace.file_ids();
            self.due.extend(files.map(|file| (id, file)));
        }
    }

    /// The file is to be told of again.
    pub(super) fn tell_again(&mut self, file: FileRef) {
        self.due.insert(file);
    }

    /// Tells the client what it has to learn of settled files.
    pub(super) fn publish(&mut self, state: &mut State, out: &Outgoing) {
        let mut waiting = 0;
        for (id, root) in state.roots_mut() {
            let changed = root.checked.take_changed();
            self.due.extend(changed.into_iter().map(|file| (id, file)));
            waiting += root.checked.waiting();
        }
        self.show_progress(waiting);
        // Who fetches findings has to be told of a house's too.
        self.others |= std::mem::take(&mut state.house_changed);
        if self.shape != state.shape && !self.due.is_empty() {
            // A file that came or went has moved the numbers of others: which
            // are meant is no longer known. What is as it was is not told twice.
            self.all_due(state);
        }
        for file in std::mem::take(&mut self.due) {
            let Some(root) = state.root(file.0) else {
                continue;
            };
            if file.1.0 as usize >= root.workspace.files.len() {
                continue;
            }
            let judged = state.judges(file);
            if !root.checked.is_file_settled(file.1) {
                self.due.insert(file);
                continue;
            }
            let Some(url) = state.url(file) else { continue };
            self.others |= self.edited.as_ref() != Some(&url);
            if !self.pushes(state, &url) {
                self.withdraw(out, &url);
            } else if judged {
                let found = to_proto::diagnostics(state, file, &self.abilities);
                self.tell(out, url, found, state.version(file));
            }
        }
        if self.shape != state.shape {
            self.shape = state.shape;
            self.tell_of_shape(state, out);
        }
        if self.due.is_empty() {
            if std::mem::take(&mut self.others) {
                self.refresh(out);
            }
            self.edited = None;
        }
    }

    /// Files that went hold nothing any more; settings may be right or wrong
    /// now.
    fn tell_of_shape(&mut self, state: &State, out: &Outgoing) {
        let house = to_proto::other_diagnostics(state);
        // A file is told of under one URL: as the client spells it.
        let gone = |url: &&Url| {
            let file = state.file(url).filter(|file| state.judges(*file));
            let told = file.and_then(|file| state.url(file));
            told.as_ref() != Some(*url) && !house.iter().any(|(other, _)| other == *url)
        };
        let gone: Vec<_> = self.told.keys().filter(gone).cloned().collect();
        for url in gone {
            self.tell(out, url, Vec::new(), None);
        }
        let (pushed, fetched) = house
            .into_iter()
            .partition(|(url, _): &(Url, _)| self.pushes(state, url));
        // Nothing else tells the client that it should fetch these again.
        self.others |= self.fetched != fetched;
        self.fetched = fetched;
        for (url, found) in pushed as Vec<_> {
            self.tell(out, url, found, None);
        }
    }

    /// Whether findings of the URL are pushed: what a client fetches would
    /// else be shown twice.
    fn pushes(&self, state: &State, url: &Url) -> bool {
        let able = &self.abilities;
        let told = able.takes_diagnostics && !self.fetches_all && !state.is_open(url);
        !able.pulls_diagnostics || told
    }

    /// The client fetches the findings of all files, and is pushed none from
    /// now on.
    pub(super) fn fetched_all(&mut self, out: &Outgoing) {
        if !std::mem::replace(&mut self.fetches_all, true) && self.abilities.pulls_diagnostics {
            let told: Vec<_> = self.told.keys().cloned().collect();
            told.iter().for_each(|url| self.withdraw(out, url));
        }
    }

    /// What was pushed of the URL does not hold any more.
    fn withdraw(&mut self, out: &Outgoing, url: &Url) {
        if self.told.remove(url).is_some() {
            out.diagnostics(url.clone(), Vec::new(), None);
        }
    }

    fn tell(&mut self, out: &Outgoing, url: Url, found: Vec<Diagnostic>, version: Option<i32>) {
        let before = self.told.get(&url).map_or(&[][..], Vec::as_slice);
        // A version is told of even where nothing changed.
        if before == found.as_slice() && version.is_none() {
            return;
        }
        if found.is_empty() {
            self.told.remove(&url);
        } else {
            self.told.insert(url.clone(), found.clone());
        }
        out.diagnostics(url, found, version);
    }

    /// What was derived for other documents may have changed with this one.
    fn refresh(&mut self, out: &Outgoing) {
        if !std::mem::replace(&mut self.ever, true) {
            return;
        }
        let abilities = &self.abilities;
        if abilities.pulls_diagnostics && abilities.refreshes_diagnostics {
            out.refresh(Refresh::Diagnostics);
        }
        if abilities.refreshes_hints {
            out.refresh(Refresh::Hints);
        }
        if abilities.refreshes_lenses {
            out.refresh(Refresh::Lenses);
        }
        if abilities.refreshes_tokens {
            out.refresh(Refresh::Tokens);
        }
    }

    /// Findings of one file may point into another, in which lines moved.
    pub(super) fn follow_moved(&mut self, state: &mut State) {
        for (id, root) in state.roots_mut() {
            let moved = std::mem::take(&mut root.moved);
            let pointing = root.checked.pointing_into(&moved);
            self.due.extend(pointing.into_iter().map(|file| (id, file)));
        }
    }

    fn show_progress(&mut self, waiting: usize) {
        let Some((progress, all)) = &self.progress else {
            return;
        };
        if waiting == 0 {
            self.progress = None;
            return;
        }
        let done = all.saturating_sub(waiting);
        let percentage = done * 100 / (*all).max(1);
        progress.report(
            u32::try_from(percentage).unwrap_or(100),
            format!("{done} of {all} stanzas"),
        );
    }
}
