//! What was not read, said: counted where it is many, named where an order
//! could be in it.

use gutta_checks::unread;
use gutta_checks::words::counted;
use gutta_server::disk::{SkipReason, Skipped};
use serde::Serialize;

use super::{FoundFiles, Loaded, Root};
use crate::terminal;

/// So many are named; of more, only how many.
const NAMED: usize = 20;

/// How much was passed over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub(crate) struct SkipCounts {
    /// That an order could be in, and that nobody left out.
    pub(crate) faults: usize,
    /// Order files, or folders with any, that a file in the workspace ignores.
    pub(crate) ignored: usize,
    /// What `gutta.toml` excludes.
    #[serde(skip)]
    excluded: usize,
}

impl SkipCounts {
    /// Counts.
    pub(crate) fn of<'a>(passed: impl IntoIterator<Item = &'a Skipped>) -> Self {
        let mut over = Self::default();
        for passed in passed {
            match &passed.why {
                why if why.is_fault() => over.faults += 1,
                SkipReason::Ignored(_) => over.ignored += 1,
                SkipReason::Excluded => over.excluded += 1,
                _ => {}
            }
        }
        over
    }

    /// What nobody plainly chose: `2 passed over, 1 ignored`; none for nothing.
    pub(crate) fn line(self) -> Option<String> {
        let said = [(self.faults, "passed over"), (self.ignored, "ignored")];
        joined(&said)
    }

    /// All that is not read, and is or may be an order.
    pub(crate) fn chosen(self) -> Option<String> {
        let said = [
            (self.faults, "passed over"),
            (self.ignored, "ignored"),
            (self.excluded, "excluded by gutta.toml"),
        ];
        joined(&said)
    }
}

fn joined(said: &[(usize, &str)]) -> Option<String> {
    let said: Vec<_> = said
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    (!said.is_empty()).then(|| said.join(", "))
}

/// What an order could be in, each with why it is not read.
pub(super) fn faults(root: &Root, passed: &[Skipped]) -> Vec<String> {
    let faults = passed.iter().filter(|passed| passed.why.is_fault());
    let told = faults.map(|passed| {
        let path = root.shown_path(&passed.path);
        let why = passed.why.told(|path| root.shown_path(path));
        format!("{path} is passed over: {why}")
    });
    told.collect()
}

impl FoundFiles {
    /// Says on standard error what an order could be in and was passed over.
    pub(crate) fn tell_passed(&self) -> bool {
        tell(&faults(&self.root, &self.passed))
    }
}

impl Loaded {
    /// Says which workspaces of their own lie in it, and were not looked at.
    pub(crate) fn tell_inner(&self) {
        let inner = self.passed.iter();
        for passed in inner.filter(|passed| passed.why == SkipReason::Inner) {
            let path = self.root.shown_path(&passed.path);
            terminal::tell(&format!(
                "gutta: {path} is a workspace of its own: its orders are not among these"
            ));
        }
    }

    /// Says on standard error what an order could be in and was passed over;
    /// whether there was any.
    pub(crate) fn tell_passed(&self) -> bool {
        tell(&faults(&self.root, &self.passed))
    }
}

/// The same, with what was read and may be an order: a file that is no text, a
/// stanza with a keyword that is none. For all who take orders and would else
/// go on without it; workspaces of their own are said too.
pub(crate) fn tell_unread(loaded: &Loaded) -> bool {
    loaded.tell_inner();
    let mut all = faults(&loaded.root, &loaded.passed);
    let found = unread(&loaded.workspace, &loaded.asked);
    all.extend(
        found
            .iter()
            .map(|unread| unread.told(&loaded.workspace, |path| loaded.root.shown(path))),
    );
    tell(&all)
}

fn tell(all: &[String]) -> bool {
    for told in all.iter().take(NAMED) {
        terminal::tell(&format!("gutta: {told}"));
    }
    if let Some(more) = all.len().checked_sub(NAMED).filter(|more| *more > 0) {
        let places = counted(more, "more place");
        terminal::tell(&format!("gutta: and {places}: `gutta check` names them"));
    }
    !all.is_empty()
}
