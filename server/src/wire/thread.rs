//! The one thread that holds the state.
//!
//! Changes and questions reach it in the order in which the client sent them;
//! each is answered from the state as it then stands. Between them it redoes
//! what is out of date, a slice at a time; a check that is under way when
//! something comes in is left off, and begun anew. An answer that takes long is
//! looked for aside. So nothing waits for long.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, RecvTimeoutError, TryRecvError, bounded, unbounded};
use gutta_quantity::work::{self, Interrupt};
use tower_lsp::lsp_types::Url;

use super::aside::Long;
use super::context::ServerContext;
use super::watch::follow;
use super::worker::{Job, STACK, Worker};

/// So long at most the checks go on before new messages are looked for.
const SLICE: Duration = Duration::from_millis(4);

/// So long after the last message, what can wait is done.
const IDLE: Duration = Duration::from_millis(150);

/// So often, with nothing to do, the date is looked at.
const TICK: Duration = Duration::from_secs(30);

/// Starts the thread.
pub(super) fn start() -> std::io::Result<Worker> {
    let (jobs, inbox) = unbounded();
    let (way_out, given) = bounded(1);
    let waiting = Interrupt::default();
    let worker = Worker::new(jobs, waiting.clone(), way_out);
    let own = worker.clone();
    let work = move || {
        if let Ok(out) = given.recv() {
            run(ServerContext::new(out), &own, &inbox, &waiting);
        }
    };
    std::thread::Builder::new()
        .name("gutta".to_owned())
        .stack_size(STACK)
        .spawn(work)?;
    Ok(worker)
}

fn run(mut server: ServerContext, own: &Worker, inbox: &Receiver<Job>, waiting: &Interrupt) {
    let mut long = Long::default();
    let mut last = Instant::now();
    let mut rested = false;
    loop {
        // Lowered before it is looked: what comes after that raises it again.
        waiting.lower();
        let job = match inbox.try_recv() {
            Ok(job) => Some(job),
            Err(TryRecvError::Disconnected) => return,
            Err(TryRecvError::Empty) if !server.is_settled() => {
                server.guarded(|server| server.work(waiting));
                long.ask_parked(&server);
                continue;
            }
            // While all is settled: to check changes the state.
            Err(TryRecvError::Empty) if !long.is_empty() => {
                let Some(job) = long.answer(&server, inbox) else {
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
                        if long.ask(&server, question) {
                            server.hasten(document.as_ref());
                        }
                    }
                    Job::Change(change) => {
                        let before = long.document_states(&server.state);
                        let ((), units) = work::counted(|| server.guarded(change));
                        server.done.count(units);
                        server.guarded(|server| follow(server, own));
                        long.outdate(&server.state, &before);
                        long.ask_parked(&server);
                    }
                }
                last = Instant::now();
                rested = false;
            }
            None if last.elapsed() >= IDLE => {
                server.guarded(ServerContext::rest);
                rested = true;
            }
            None => {}
        }
    }
}

impl ServerContext {
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
