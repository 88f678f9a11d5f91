//! Answers that take long, on a thread of their own while nothing changes: what
//! else is asked meanwhile is answered, and a change stops them.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::Ordering;

use crossbeam_channel::{Receiver, bounded, select};
use gutta_quantity::work::{self, Interrupt};

use super::context::ServerContext;
use super::questions::{AnyQuestion, DocumentState, Failed, Tried, Until};
use super::worker::{Job, STACK};
use crate::state::State;

/// So much work, some hundredths of a second of it, goes into an answer before
/// what came after has its turn.
pub(super) const SHORT: u64 = 100_000;

/// So much goes into one answer at all: seconds of it. Whatever needs more has
/// none.
const LONG: u64 = 40_000_000;

/// Questions that take more than [`SHORT`], in the order in which they came.
#[derive(Default)]
pub(super) struct Long {
    due: VecDeque<Box<dyn AnyQuestion>>,
    /// Questions that wait for the checks, with what each leant on when it was
    /// asked.
    parked: Vec<(Box<dyn AnyQuestion>, DocumentState)>,
}

/// How a question came back from the other thread.
type Back = Option<(Box<dyn AnyQuestion>, Tried)>;

impl Long {
    pub(super) fn is_empty(&self) -> bool {
        self.due.is_empty()
    }

    /// Answers at once what takes no more than [`SHORT`], and keeps the rest.
    /// Says whether it waits for the checks.
    pub(super) fn ask(
        &mut self,
        server: &ServerContext,
        mut question: Box<dyn AnyQuestion>,
    ) -> bool {
        if !question.is_waited_for() {
            return false;
        }
        if question.until() != Until::Now {
            let document = DocumentState::of(&server.state, question.document());
            if !document.settled {
                self.parked.push((question, document));
                return true;
            }
        }
        let tried = server
            .done
            .at_once(|| fenced(&mut *question, server, SHORT));
        match tried {
            Some(Tried::Spent) => self.due.push_back(question),
            Some(Tried::Answered | Tried::LeftOff) => {}
            None => server.tell_fault(),
        }
        false
    }

    /// What every question leans on, to be compared once something has changed.
    pub(super) fn document_states(&self, state: &State) -> Vec<DocumentState> {
        let due = self.due.iter();
        due.map(|question| DocumentState::of(state, question.document()))
            .collect()
    }

    /// Asks again what waited for the checks, as far as they have come.
    pub(super) fn ask_parked(&mut self, server: &ServerContext) {
        for (question, _) in std::mem::take(&mut self.parked) {
            self.ask(server, question);
        }
    }

    /// Refuses what was asked of another text than there is now.
    pub(super) fn outdate(&mut self, state: &State, before: &[DocumentState]) {
        let outdated = |(question, before): &mut (Box<dyn AnyQuestion>, DocumentState)| {
            question.until() == Until::CheckedAsIs
                && DocumentState::of(state, question.document()).is_edited_since(*before)
        };
        for (mut question, _) in self.parked.extract_if(.., outdated) {
            question.refuse(Failed::Changed);
        }
        let due = std::mem::take(&mut self.due).into_iter();
        for (mut question, before) in due.zip(before) {
            if DocumentState::of(state, question.document()).is_other_than(*before) {
                question.refuse(Failed::Changed);
            } else {
                self.due.push_back(question);
            }
        }
    }

    /// Answers the first of them. Gives what came meanwhile and needs the state
    /// for itself: then the question is begun anew after it.
    pub(super) fn answer(&mut self, server: &ServerContext, inbox: &Receiver<Job>) -> Option<Job> {
        let question = self.due.pop_front()?;
        // Lowered before it is looked: who leaves after that raises it again.
        question.stop().lower();
        if !question.is_waited_for() {
            return None;
        }
        let (back, next) = self.beside(server, question, inbox);
        match back {
            Some((mut question, Tried::Spent)) => question.refuse(Failed::TooLong),
            Some((question, Tried::LeftOff)) => self.due.push_front(question),
            Some((_, Tried::Answered)) => {}
            None => server.tell_fault(),
        }
        next
    }

    fn beside(
        &mut self,
        server: &ServerContext,
        mut question: Box<dyn AnyQuestion>,
        inbox: &Receiver<Job>,
    ) -> (Back, Option<Job>) {
        let stop: Interrupt = question.stop().clone();
        let (hand, ended) = bounded(1);
        let work = move || {
            let (tried, units) = work::counted(|| fenced(&mut *question, server, LONG));
            server.done.aside.fetch_add(units, Ordering::Relaxed);
            let _ = hand.send(tried.map(|tried| (question, tried)));
        };
        std::thread::scope(|scope| {
            let thread = std::thread::Builder::new().stack_size(STACK);
            if thread.spawn_scoped(scope, work).is_err() {
                return (None, None);
            }
            loop {
                select! {
                    recv(ended) -> back => return (back.ok().flatten(), None),
                    recv(inbox) -> job => match job {
                        Ok(Job::Ask(question)) => {
                            self.ask(server, question);
                        }
                        other => {
                            stop.raise();
                            return (ended.recv().ok().flatten(), other.ok());
                        }
                    }
                }
            }
        })
    }
}

/// Looks for the answer; none where that failed by a fault of its own. What it
/// only looks at is as it was.
fn fenced(question: &mut dyn AnyQuestion, server: &ServerContext, most: u64) -> Option<Tried> {
    catch_unwind(AssertUnwindSafe(|| question.answer(server, most))).ok()
}
