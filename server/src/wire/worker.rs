//! The way to the thread that holds the state.

use crossbeam_channel::Sender;
use gutta_quantity::work::Interrupt;
use tokio::sync::oneshot;
use tower_lsp::lsp_types::Url;

use super::context::ServerContext;
use super::outgoing::Outgoing;
use super::questions::{AnyQuestion, Failed, Question, Until};

/// The thread's stack, in bytes: as much as a program's first thread has.
pub(super) const STACK: usize = 8 * 1024 * 1024;

/// What reaches the thread.
pub(super) enum Job {
    /// Needs the state for itself.
    Change(Box<dyn FnOnce(&mut ServerContext) + Send>),
    /// Looks at it alone.
    Ask(Box<dyn AnyQuestion>),
}

/// The way to the thread.
#[derive(Clone, Debug)]
pub(super) struct Worker {
    jobs: Sender<Job>,
    /// Raised when something came in, so that a check under way is left off.
    waiting: Interrupt,
    way_out: Sender<Outgoing>,
}

impl Worker {
    /// To a thread that takes jobs, and what it needs to speak to the client.
    pub(super) const fn new(
        jobs: Sender<Job>,
        waiting: Interrupt,
        way_out: Sender<Outgoing>,
    ) -> Self {
        Self {
            jobs,
            waiting,
            way_out,
        }
    }

    /// Gives the thread its way out; until then it does nothing.
    pub(super) fn speak_through(&self, out: Outgoing) {
        let _ = self.way_out.send(out);
    }

    /// Hands in a change. It is in line once this returns, so a handler must
    /// call it before it first awaits.
    pub(super) fn tell(&self, change: impl FnOnce(&mut ServerContext) + Send + 'static) {
        self.hand_in(Job::Change(Box::new(change)));
    }

    fn hand_in(&self, job: Job) {
        // The thread ends with the process alone.
        let _ = self.jobs.send(job);
        self.waiting.raise();
    }

    /// Hands in a change that has an answer, and waits for it.
    pub(super) async fn change<T: Send + 'static>(
        &self,
        change: impl FnOnce(&mut ServerContext) -> T + Send + 'static,
    ) -> Result<T, Failed> {
        let (reply, answer) = oneshot::channel();
        self.tell(move |server| {
            let _ = reply.send(change(server));
        });
        // A panic drops the sender.
        answer.await.map_err(|_| Failed::Fault)
    }

    /// Hands in a question (about a document, it may be), and waits for its answer. Once
    /// nobody waits for that any more (the client cancelled it), it is looked
    /// for no longer. It may be looked for several times.
    pub(super) async fn ask<T: Send + 'static>(
        &self,
        document: Option<Url>,
        until: Until,
        question: impl Fn(&ServerContext) -> T + Send + 'static,
    ) -> Result<T, Failed> {
        let (question, waiting) = Question::of(document, until, question);
        self.hand_in(Job::Ask(Box::new(question)));
        waiting.answer().await
    }
}
