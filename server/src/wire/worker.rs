//! The one thread that holds the state.
//!
//! Changes and questions reach it in the order in which the client sent them;
//! each is answered from the state as it then stands. Between them it redoes
//! what is out of date, a slice at a time; a check that is under way when
//! something comes in is left off, and begun anew. An answer that takes long is
//! looked for aside. So nothing waits for long.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, TryRecvError, bounded, unbounded};
use gutta_quantity::work::{self, Interrupt};
use tokio::sync::oneshot;
use tower_lsp::lsp_types::Url;

use super::aside::{Done, Long};
use super::outgoing::Outgoing;
use super::publish::Publisher;
use super::questions::{Asked, Failed, Question, Until};
use super::watch::{Watching, follow};
use crate::state::State;

/// So long at most the checks go on before new messages are looked for.
const SLICE: Duration = Duration::from_millis(4);

/// So long after the last message, what can wait is done.
const IDLE: Duration = Duration::from_millis(150);

/// So often, with nothing to do, the date is looked at.
const TICK: Duration = Duration::from_secs(30);

/// The thread's stack, in bytes: as much as a program's first thread has.
pub(super) const STACK: usize = 8 * 1024 * 1024;

/// What the thread holds.
#[derive(Debug)]
pub(super) struct Desk {
    pub(super) state: State,
    pub(super) publisher: Publisher,
    pub(super) out: Outgoing,
    /// The folders to open once the client is ready.
    pub(super) folders: Vec<PathBuf>,
    pub(super) watching: Watching,
    pub(super) done: Done,
}

/// What reaches the thread.
pub(super) enum Job {
    /// Needs the state for itself.
    Change(Box<dyn FnOnce(&mut Desk) + Send>),
    /// Looks at it alone.
    Ask(Box<dyn Asked>),
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
    /// Starts the thread.
    pub(super) fn start() -> std::io::Result<Self> {
        let (jobs, inbox) = unbounded();
        let (way_out, given) = bounded(1);
        let waiting = Interrupt::default();
        let asks = waiting.clone();
        let work = move || {
            if let Ok(out) = given.recv() {
                let desk = Desk {
                    state: State::default(),
                    publisher: Publisher::default(),
                    out,
                    folders: Vec::new(),
                    watching: Watching::default(),
                    done: Done::default(),
                };
                run(desk, &inbox, &asks);
            }
        };
        std::thread::Builder::new()
            .name("gutta".to_owned())
            .stack_size(STACK)
            .spawn(work)?;
        Ok(Self {
            jobs,
            waiting,
            way_out,
        })
    }

    /// Gives the thread its way out; until then it does nothing.
    pub(super) fn speak_through(&self, out: Outgoing) {
        let _ = self.way_out.send(out);
    }

    /// Hands in a change. It is in line once this returns, so a handler must
    /// call it before it first awaits.
    pub(super) fn tell(&self, change: impl FnOnce(&mut Desk) + Send + 'static) {
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
        change: impl FnOnce(&mut Desk) -> T + Send + 'static,
    ) -> Result<T, Failed> {
        let (reply, answer) = oneshot::channel();
        self.tell(move |desk| {
            let _ = reply.send(change(desk));
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
        question: impl Fn(&Desk) -> T + Send + 'static,
    ) -> Result<T, Failed> {
        let (question, waiting) = Question::of(document, until, question);
        self.hand_in(Job::Ask(Box::new(question)));
        waiting.answer().await
    }
}

fn run(mut desk: Desk, inbox: &Receiver<Job>, waiting: &Interrupt) {
    let mut long = Long::default();
    let mut last = Instant::now();
    let mut rested = false;
    loop {
        // Lowered before it is looked: what comes after that raises it again.
        waiting.lower();
        let job = match inbox.try_recv() {
            Ok(job) => Some(job),
            Err(TryRecvError::Disconnected) => return,
            Err(TryRecvError::Empty) if !desk.is_settled() => {
                desk.guarded(|desk| desk.work(waiting));
                long.ask_parked(&desk);
                continue;
            }
            // While all is settled: to check changes the state.
            Err(TryRecvError::Empty) if !long.is_empty() => {
                let Some(job) = long.answer(&desk, inbox) else {
                    continue;
                };
                Some(job)
            }
            Err(TryRecvError::Empty) => {
                let wait = if rested { TICK } else { IDLE };
                match inbox.recv_timeout(wait) {
                    Ok(job) => Some(job),
                    Err(RecvTimeoutError::Disconnected) => return,
                    Err(RecvTimeoutError::Timeout) => None,
                }
            }
        };
        match job {
            Some(job) => {
                match job {
                    Job::Ask(question) => {
                        let document = question.document().cloned();
                        if long.ask(&desk, question) {
                            desk.hasten(document.as_ref());
                        }
                    }
                    Job::Change(change) => {
                        let before = long.grounds(&desk.state);
                        let ((), units) = work::counted(|| desk.guarded(change));
                        desk.done.count(units);
                        desk.guarded(follow);
                        long.outdate(&desk.state, &before);
                        long.ask_parked(&desk);
                    }
                }
                last = Instant::now();
                rested = false;
            }
            None if last.elapsed() >= IDLE => {
                desk.guarded(Desk::rest);
                rested = true;
            }
            None => {}
        }
    }
}

impl Desk {
    fn is_settled(&self) -> bool {
        let settled = self
            .state
            .roots()
            .all(|(_, root)| root.checked.is_settled());
        settled && !self.publisher.is_due(&self.state)
    }

    /// Somebody waits for the document: it is checked before the others.
    fn hasten(&mut self, document: Option<&Url>) {
        let file = document.and_then(|document| self.state.file(document));
        if let Some((id, file)) = file
            && let Some(root) = self.state.root_mut(id)
        {
            root.checked.hasten(file);
        }
    }

    /// Redoes what is out of date, and tells the client what came of it.
    fn work(&mut self, waiting: &Interrupt) {
        let until = Instant::now() + SLICE;
        for (_, root) in self.state.roots_mut() {
            let go_on = || !waiting.is_raised() && Instant::now() < until;
            root.checked.work(&root.workspace, waiting, go_on);
        }
        if !waiting.is_raised() {
            self.publisher.publish(&mut self.state, &self.out);
        }
    }

    /// What can wait: places that moved under findings of other files, and a
    /// new day.
    fn rest(&mut self) {
        self.state.set_options();
        self.publisher.follow_moved(&mut self.state);
    }

    pub(super) fn tell_fault(&self) {
        let said =
            "gutta: a fault in gutta itself; one answer is missing, or everything is read again";
        self.out.log_error(said.to_owned());
    }

    /// Does the work. Should it panic, what it may have left half done is made
    /// anew from the texts.
    fn guarded(&mut self, work: impl FnOnce(&mut Self)) {
        if catch_unwind(AssertUnwindSafe(|| work(self))).is_ok() {
            return;
        }
        self.tell_fault();
        let again = catch_unwind(AssertUnwindSafe(|| self.state.reload()));
        if again.is_err() {
            self.state.close_all();
            self.out.log_error(
                "gutta: the files could not be read again; restart the server".to_owned(),
            );
        }
    }
}
