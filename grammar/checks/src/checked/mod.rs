//! The findings of a workspace, kept while it is edited: a change re-does the
//! stanzas that it touched and those that asked for what it changed, and
//! nothing else.

mod entry;
mod keys;
#[cfg(test)]
mod left_off;
#[cfg(test)]
mod tests;

use std::collections::{BTreeSet, VecDeque};

use entry::{Entries, Kept};
use gutta_protocol::model::Library;
use gutta_protocol::trace::{Query, traced};
use gutta_protocol::{Change, FileId, StanzaId, Workspace};
use gutta_quantity::work::{Interrupt, interruptible};
use keys::Keys;
use rayon::prelude::*;
use rustc_hash::FxHashSet;

use crate::runner::{Sorted, check_file, check_stanza};
use crate::{Finding, Options};

/// So many stanzas are checked side by side before the caller is asked
/// whether to go on.
const BATCH: usize = 64;

/// A batch smaller than this is not worth waking other threads for.
const LEAST_PARALLEL: usize = 8;

/// After so many interruptions in a row with nothing done between, a stanza is
/// checked to its end: it takes no longer than its budget, and someone who
/// never pauses is to have findings too.
const MOST_LEFT_OFF: u32 = 4;

/// The findings of every stanza of one workspace.
///
/// It follows the workspace: whoever changes that tells it at once, by
/// [`follow`](Self::follow) and its kin. Findings that are out of date are
/// redone by [`work`](Self::work), and never given out.
#[derive(Debug)]
pub struct Checked {
    library: Library,
    options: Options,
    entries: Entries,
    /// Parallel to the workspace's files; in each, parallel to its stanzas.
    files: Vec<Vec<u32>>,
    keys: Keys,
    /// What to redo: what was edited, before what leans on it.
    first: VecDeque<u32>,
    then: VecDeque<u32>,
    /// The files whose findings have changed since they were last asked for.
    changed: BTreeSet<FileId>,
    /// How often in a row the checks were left off with nothing done.
    left_off: u32,
}

impl Checked {
    /// Of a workspace, with all yet to be checked.
    #[must_use]
    pub fn new(workspace: &Workspace, options: Options) -> Self {
        let mut checked = Self {
            library: Library::new(workspace),
            options,
            entries: Entries::default(),
            files: Vec::new(),
            keys: Keys::default(),
            first: VecDeque::new(),
            then: VecDeque::new(),
            changed: workspace.file_ids().collect(),
            left_off: 0,
        };
        for file in workspace.file_ids() {
            let ids = checked.entries_of(workspace, file);
            checked.then.extend(&ids);
            checked.files.push(ids);
        }
        checked
    }

    /// Every reference stanza, judged as the workspace stands.
    #[must_use]
    pub const fn library(&self) -> &Library {
        &self.library
    }

    /// What the check is asked.
    #[must_use]
    pub const fn options(&self) -> &Options {
        &self.options
    }

    /// Another day, or other options: all is checked again.
    pub fn set_options(&mut self, options: Options) {
        self.options = options;
        for file in 0..self.files.len() {
            self.mark_file(FileId::at(file));
        }
    }

    /// Follows a change of one file.
    pub fn follow(&mut self, workspace: &Workspace, change: &Change) {
        self.library.follow(workspace, change);
        let Change { file, first, .. } = *change;
        self.changed.insert(file);
        let new: Vec<_> = (first..first + change.after)
            .map(|index| self.entries.add(StanzaId { file, index }))
            .collect();
        self.first.extend(&new);
        let range = first as usize..(first + change.before) as usize;
        let held = &mut self.files[file.0 as usize];
        let old: Vec<_> = held.splice(range, new).collect();
        if change.before != change.after {
            let behind = (first + change.after) as usize;
            for (index, entry) in held.iter().enumerate().skip(behind) {
                let index = u32::try_from(index).unwrap_or(u32::MAX);
                self.entries.move_to(*entry, StanzaId { file, index });
            }
        }
        for entry in old {
            self.drop_entry(entry);
        }
        for asked in &change.asked {
            self.mark_asking(asked, |_| true);
        }
        if change.lines_moved {
            let last = first + change.after;
            self.mark_asking(&Query::Line, |at| at.file == file && at.index >= last);
        }
        for file in &change.files {
            self.mark_file(*file);
        }
    }

    /// A file came at `id`; what was there and behind it moved up.
    pub fn insert_file(&mut self, workspace: &Workspace, id: FileId) {
        self.renumber(workspace, |checked| {
            checked.files.insert(id.0 as usize, Vec::new());
        });
        let ids = self.entries_of(workspace, id);
        self.first.extend(&ids);
        self.files[id.0 as usize] = ids;
        self.mark_names(workspace, id);
    }

    /// The file at `id` is about to go from the workspace, which still holds
    /// it; [`removed_file`](Self::removed_file) is to follow.
    pub fn removing_file(&mut self, workspace: &Workspace, id: FileId) {
        self.mark_names(workspace, id);
        for entry in std::mem::take(&mut self.files[id.0 as usize]) {
            self.drop_entry(entry);
        }
    }

    /// The file that was at `id` went; what was behind it moved down.
    pub fn removed_file(&mut self, workspace: &Workspace, id: FileId) {
        self.renumber(workspace, |checked| {
            checked.files.remove(id.0 as usize);
        });
    }

    /// Redoes what is out of date, for as long as `go_on` says so; `true` once
    /// nothing is. A stanza under way is left off, to be begun anew, when
    /// `interrupt` is raised.
    pub fn work(
        &mut self,
        workspace: &Workspace,
        interrupt: &Interrupt,
        mut go_on: impl FnMut() -> bool,
    ) -> bool {
        loop {
            let batch = self.next_batch();
            if batch.is_empty() {
                return true;
            }
            let left = match self.left_off < MOST_LEFT_OFF {
                true => self.redo(workspace, &batch, interrupt),
                false => self.redo(workspace, &batch, &Interrupt::default()),
            };
            let none_done = left.len() == batch.len();
            self.left_off = if none_done { self.left_off + 1 } else { 0 };
            for entry in left.into_iter().rev() {
                self.first.push_front(entry);
            }
            if !go_on() {
                return self.is_settled();
            }
        }
    }

    /// What is out of date in one file is to be redone before all else.
    pub fn hasten(&mut self, file: FileId) {
        let own = self.files.get(file.0 as usize).into_iter().flatten();
        let stale = own.filter(|entry| self.entries.is_stale(**entry));
        for entry in stale.rev() {
            self.first.push_front(*entry);
        }
    }

    /// Whether nothing is out of date.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        let stale = |entry: &u32| self.entries.is_stale(*entry);
        !self.first.iter().any(stale) && !self.then.iter().any(stale)
    }

    /// Whether some stanza of the file is out of date.
    #[must_use]
    pub fn is_file_settled(&self, file: FileId) -> bool {
        let entries = self.files.get(file.0 as usize).into_iter().flatten();
        !entries
            .into_iter()
            .any(|entry| self.entries.is_stale(*entry))
    }

    /// How many stanzas may still be out of date.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.first.len() + self.then.len()
    }

    /// Whether some file's findings changed since they were last asked for.
    #[must_use]
    pub fn has_changed(&self) -> bool {
        !self.changed.is_empty()
    }

    /// The files whose findings changed since this was last asked.
    pub fn take_changed(&mut self) -> BTreeSet<FileId> {
        std::mem::take(&mut self.changed)
    }

    /// The findings of a file, in the order of place, then rule; those of a
    /// stanza that is out of date are left out.
    #[must_use]
    pub fn findings(&self, workspace: &Workspace, file: FileId) -> Vec<Finding> {
        let mut findings = check_file(workspace, file);
        for entry in self.files.get(file.0 as usize).into_iter().flatten() {
            findings.extend(self.entries.findings(workspace, *entry));
        }
        findings.sorted()
    }

    /// The other files of which some finding points into one of these.
    #[must_use]
    pub fn pointing_into(&self, moved: &BTreeSet<FileId>) -> BTreeSet<FileId> {
        if moved.is_empty() {
            return BTreeSet::new();
        }
        let pointing = |entries: &Vec<u32>| {
            let mut entries = entries.iter();
            entries.any(|entry| self.entries.points_into(*entry, moved))
        };
        let files = self.files.iter().enumerate();
        files
            .filter(|(_, entries)| pointing(entries))
            .map(|(file, _)| FileId::at(file))
            .filter(|file| !moved.contains(file))
            .collect()
    }

    /// The findings of one stanza.
    #[must_use]
    pub fn findings_of(&self, workspace: &Workspace, id: StanzaId) -> Vec<Finding> {
        let entry = self
            .files
            .get(id.file.0 as usize)
            .and_then(|entries| entries.get(id.index as usize));
        entry.map_or_else(Vec::new, |entry| self.entries.findings(workspace, *entry))
    }

    fn entries_of(&mut self, workspace: &Workspace, file: FileId) -> Vec<u32> {
        let stanzas = workspace.stanzas_in(file);
        stanzas.map(|id| self.entries.add(id)).collect()
    }

    fn next_batch(&mut self) -> Vec<u32> {
        let mut batch = Vec::new();
        while batch.len() < BATCH {
            let Some(entry) = self.first.pop_front().or_else(|| self.then.pop_front()) else {
                break;
            };
            if self.entries.is_stale(entry) && !batch.contains(&entry) {
                batch.push(entry);
            }
        }
        batch
    }

    /// Checks them; gives those that were left off since `interrupt` was
    /// raised.
    fn redo(&mut self, workspace: &Workspace, batch: &[u32], interrupt: &Interrupt) -> Vec<u32> {
        let (library, options) = (&self.library, &self.options);
        let entries = &self.entries;
        let one = |entry: &u32| {
            let id = entries.at(*entry);
            let check = || check_stanza(workspace, library, id, options);
            let traced = || traced(id, check);
            let done = if interrupt.is_raised() {
                None
            } else {
                interruptible(interrupt, traced)
            };
            (*entry, done)
        };
        let done: Vec<_> = if batch.len() < LEAST_PARALLEL {
            batch.iter().map(one).collect()
        } else {
            batch.par_iter().map(one).collect()
        };
        let mut left = Vec::new();
        for (entry, done) in done {
            match done {
                Some((findings, asked)) => self.keep(workspace, entry, findings, asked),
                None => left.push(entry),
            }
        }
        left
    }

    fn keep(
        &mut self,
        workspace: &Workspace,
        entry: u32,
        findings: Vec<Finding>,
        asked: FxHashSet<Query>,
    ) {
        let own = self.entries.at(entry);
        let kept: Box<[Kept]> = findings
            .into_iter()
            .map(|finding| Kept::new(finding, workspace, own, &self.files, &self.entries))
            .collect();
        self.keys.ask(entry, self.entries.keys_mut(entry), asked);
        self.entries.keep(entry, kept);
        self.changed.insert(own.file);
    }

    fn mark(&mut self, entry: u32) {
        if self.entries.mark(entry) {
            self.then.push_back(entry);
            self.changed.insert(self.entries.at(entry).file);
        }
    }

    fn mark_asking(&mut self, asked: &Query, chosen: impl Fn(StanzaId) -> bool) {
        for entry in self.keys.asking(asked).to_vec() {
            if chosen(self.entries.at(entry)) {
                self.mark(entry);
            }
        }
    }

    fn mark_file(&mut self, file: FileId) {
        let entries = self.files.get(file.0 as usize).cloned();
        for entry in entries.unwrap_or_default() {
            self.mark(entry);
        }
    }

    /// Marks whatever asked for a name that the file declares or mentions, and
    /// whatever sees the file or is seen by it.
    fn mark_names(&mut self, workspace: &Workspace, id: FileId) {
        for asked in workspace.all_asked(id) {
            self.mark_asking(&asked, |_| true);
        }
        for file in workspace.sees(id).iter().chain(workspace.seen_by(id)) {
            self.mark_file(*file);
        }
        // A `use` that found nothing, or would now, stands anywhere.
        for file in workspace.file_ids() {
            let mut uses = workspace.uses(file).iter();
            if uses.any(|used| used.target.is_err()) {
                self.mark_file(file);
            }
        }
    }

    /// Files came or went: all ids behind them are others now.
    fn renumber(&mut self, workspace: &Workspace, change: impl FnOnce(&mut Self)) {
        change(self);
        for (file, entries) in self.files.iter().enumerate() {
            for (index, entry) in entries.iter().enumerate() {
                let index = u32::try_from(index).unwrap_or(u32::MAX);
                let file = FileId::at(file);
                self.entries.move_to(*entry, StanzaId { file, index });
            }
        }
        self.library = Library::new(workspace);
        self.changed = workspace.file_ids().collect();
    }

    fn drop_entry(&mut self, entry: u32) {
        self.keys.forget(entry, self.entries.keys_mut(entry));
        self.entries.remove(entry);
    }
}
