//! A question, and how its answer is looked for: again with more work, and no
//! longer than somebody waits for it.

use gutta_quantity::work::{self, Interrupt};
use tokio::sync::oneshot;
use tower_lsp::lsp_types::Url;

use super::context::ServerContext;
use crate::state::State;

/// There is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Failed {
    /// A fault of its own.
    Fault,
    /// It would have taken too long.
    TooLong,
    /// What it was asked of is another by now.
    Changed,
}

/// How the search for an answer ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tried {
    /// With one.
    Answered,
    /// It takes more work.
    Spent,
    /// Something asked it to stop.
    LeftOff,
}

/// What a question waits for before it is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Until {
    /// Nothing.
    Now,
    /// That its document, or all there is, is checked: whatever its text is by
    /// then.
    Checked,
    /// The same of the text of which it was asked.
    CheckedAsIs,
}

/// A question of whatever kind.
pub(super) trait AnyQuestion: Send {
    /// Whether somebody waits for its answer.
    fn is_waited_for(&self) -> bool;

    /// The document that it is about, if it is about one.
    fn document(&self) -> Option<&Url>;

    /// What it waits for.
    fn until(&self) -> Until;

    /// Stops the search once it is raised.
    fn stop(&self) -> &Interrupt;

    /// Looks for the answer with so much work at most, and gives it.
    fn answer(&mut self, server: &ServerContext, most: u64) -> Tried;

    /// There is none.
    fn refuse(&mut self, why: Failed);
}

/// A question that waits for an answer of its kind.
#[derive(Debug)]
pub(super) struct Question<T, F> {
    document: Option<Url>,
    until: Until,
    question: F,
    reply: Option<oneshot::Sender<Result<T, Failed>>>,
    stop: Interrupt,
}

/// Where the answer comes, for as long as somebody waits.
#[derive(Debug)]
pub(super) struct Waiting<T> {
    // Closed before the search is stopped.
    answer: oneshot::Receiver<Result<T, Failed>>,
    _leaves: Leaves,
}

/// Stops the search when nobody waits any more.
#[derive(Debug)]
struct Leaves(Interrupt);

impl Drop for Leaves {
    fn drop(&mut self) {
        self.0.raise();
    }
}

impl<T> Waiting<T> {
    pub(super) async fn answer(mut self) -> Result<T, Failed> {
        // A fault drops the sender.
        (&mut self.answer).await.unwrap_or(Err(Failed::Fault))
    }
}

impl<T, F: Fn(&ServerContext) -> T> Question<T, F> {
    pub(super) fn of(document: Option<Url>, until: Until, question: F) -> (Self, Waiting<T>) {
        let (reply, answer) = oneshot::channel();
        let stop = Interrupt::default();
        let leaves = Leaves(stop.clone());
        let asked = Self {
            document,
            until,
            question,
            reply: Some(reply),
            stop,
        };
        let waiting = Waiting {
            answer,
            _leaves: leaves,
        };
        (asked, waiting)
    }
}

impl<T: Send, F: Fn(&ServerContext) -> T + Send> AnyQuestion for Question<T, F> {
    fn is_waited_for(&self) -> bool {
        self.reply.as_ref().is_some_and(|reply| !reply.is_closed())
    }

    fn document(&self) -> Option<&Url> {
        self.document.as_ref()
    }

    fn until(&self) -> Until {
        self.until
    }

    fn stop(&self) -> &Interrupt {
        &self.stop
    }

    fn answer(&mut self, server: &ServerContext, most: u64) -> Tried {
        let done = work::interruptible(&self.stop, || {
            work::within(most, || (self.question)(server))
        });
        match done {
            Some(Ok(answer)) => {
                if let Some(reply) = self.reply.take() {
                    let _ = reply.send(Ok(answer));
                }
                Tried::Answered
            }
            Some(Err(work::Spent)) => Tried::Spent,
            None => Tried::LeftOff,
        }
    }

    fn refuse(&mut self, why: Failed) {
        if let Some(reply) = self.reply.take() {
            let _ = reply.send(Err(why));
        }
    }
}

/// What a question leans on, as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct DocumentState {
    version: Option<i32>,
    /// Whether all of it is checked as it stands.
    pub(super) settled: bool,
}

impl DocumentState {
    pub(super) fn of(state: &State, document: Option<&Url>) -> Self {
        let Some(document) = document else {
            let mut roots = state.roots();
            return Self {
                version: None,
                settled: roots.all(|(_, root)| root.checked.is_settled()),
            };
        };
        let file = state.file(document);
        let settled = file.and_then(|(id, file)| {
            let root = state.root(id)?;
            Some(root.checked.is_file_settled(file))
        });
        Self {
            version: file.and_then(|file| state.version(file)),
            settled: settled.unwrap_or(true),
        }
    }

    /// Whether the document was edited.
    pub(super) fn is_edited_since(self, before: Self) -> bool {
        self.version != before.version
    }

    /// Whether it was, or what it leans on.
    pub(super) fn is_other_than(self, before: Self) -> bool {
        self.is_edited_since(before) || (before.settled && !self.settled)
    }
}
