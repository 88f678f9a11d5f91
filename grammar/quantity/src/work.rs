//! Work, counted, so that a computation can be bounded and left off.
//!
//! What may grow with what an author writes charges for itself (a curve's
//! pieces, the digits of a number). The count depends on the work alone, never
//! on a clock or the machine: what is cut short here is cut short everywhere.
//!
//! A computation is left off by unwinding, since it may stand anywhere in a
//! calculation; nothing that it built is seen outside.

use std::any::Any;
use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// So much is done between two looks at whether to go on.
const LOOK: u64 = 1 << 12;

thread_local! {
    /// Left until the next look.
    static LEFT: Cell<u64> = const { Cell::new(LOOK) };
    /// Left after that.
    static BEHIND: Cell<u64> = const { Cell::new(u64::MAX - LOOK) };
    static INTERRUPT: RefCell<Option<Interrupt>> = const { RefCell::new(None) };
}

/// Asks work on any thread to be left off, once it is raised.
#[derive(Clone, Debug, Default)]
pub struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    /// Asks.
    pub fn raise(&self) {
        self.0.store(true, Ordering::SeqCst);
    }

    /// Asks no longer.
    pub fn lower(&self) {
        self.0.store(false, Ordering::SeqCst);
    }

    /// Whether it asks.
    #[must_use]
    pub fn is_raised(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }
}

/// Why work was left off; it unwinds with this.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stop {
    Spent,
    Interrupted,
}

/// More was to be done than was allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spent;

/// Counts this much work. A unit is about one sum of two plain curves.
#[inline]
pub fn charge(units: u64) {
    let left = LEFT.get();
    if units <= left {
        LEFT.set(left - units);
    } else {
        look(units - left);
    }
}

/// The same, for a number of things.
#[inline]
pub fn charge_each(things: usize) {
    charge(things as u64);
}

#[cold]
fn look(over: u64) {
    LEFT.set(0);
    let interrupted = INTERRUPT.with_borrow(|asks| asks.as_ref().is_some_and(Interrupt::is_raised));
    if interrupted {
        stop(Stop::Interrupted);
    }
    match BEHIND.get().checked_sub(over) {
        Some(behind) => set_left(behind),
        None => {
            BEHIND.set(0);
            stop(Stop::Spent);
        }
    }
}

fn stop(why: Stop) {
    // What is dropped on the way out goes on to its end.
    if !std::thread::panicking() {
        resume_unwind(Box::new(why));
    }
}

fn left() -> u64 {
    LEFT.get().saturating_add(BEHIND.get())
}

fn set_left(units: u64) {
    let soon = units.min(LOOK);
    LEFT.set(soon);
    BEHIND.set(units - soon);
}

/// Does the work, and says how much it was.
pub fn counted<T>(work: impl FnOnce() -> T) -> (T, u64) {
    let before = left();
    let done = work();
    (done, before.saturating_sub(left()))
}

/// Does the work if it is no more than `most`.
///
/// # Errors
///
/// [`Spent`] where it is more; what it did until then is undone by nobody.
pub fn within<T>(most: u64, work: impl FnOnce() -> T) -> Result<T, Spent> {
    let outer = left();
    let own = most.min(outer);
    set_left(own);
    let done = catch_unwind(AssertUnwindSafe(work));
    let used = own.saturating_sub(left());
    set_left(outer - used);
    done.or_else(|why| match why.downcast_ref() {
        // Else it is the outer bound that was met.
        Some(Stop::Spent) if most <= outer => Err(Spent),
        _ => resume_unwind(why),
    })
}

/// Does the work; `None` where it was left off since `interrupt` was raised.
pub fn interruptible<T>(interrupt: &Interrupt, work: impl FnOnce() -> T) -> Option<T> {
    let outer = INTERRUPT.replace(Some(interrupt.clone()));
    let done = catch_unwind(AssertUnwindSafe(work));
    INTERRUPT.set(outer);
    match done {
        Ok(done) => Some(done),
        Err(why) if why.downcast_ref() == Some(&Stop::Interrupted) => None,
        Err(why) => resume_unwind(why),
    }
}

/// Whether what unwound is work that was left off, and no fault: whoever
/// catches faults passes it on.
#[must_use]
pub fn is_left_off(why: &(dyn Any + Send)) -> bool {
    why.is::<Stop>()
}

#[cfg(test)]
mod tests {
    use std::panic::catch_unwind;

    use super::{Interrupt, Spent, charge, counted, interruptible, within};

    #[test]
    fn work_is_counted() {
        let ((), units) = counted(|| (0..10_000).for_each(|_| charge(3)));
        assert_eq!(units, 30_000);
    }

    #[test]
    fn no_more_is_done_than_allowed() {
        for most in [0, 1, 4_095, 4_096, 4_097, 10_000] {
            let mut done = 0;
            let end = within(most, || {
                for _ in 0..20_000 {
                    charge(1);
                    done += 1;
                }
            });
            assert_eq!((end, done), (Err(Spent), most));
            assert_eq!(within(most, || charge(most)), Ok(()));
        }
    }

    #[test]
    fn what_is_spent_inside_counts_outside() {
        let end = within(10_000, || {
            assert_eq!(within(8_000, || charge(9_000)), Err(Spent));
            charge(2_000);
            // The outer bound is met, and the inner one is not to blame.
            within(5_000, || charge(1))
        });
        assert_eq!(end, Err(Spent));
        assert_eq!(counted(|| charge(5)).1, 5);
    }

    #[test]
    fn work_is_left_off_when_asked() {
        let interrupt = Interrupt::default();
        assert_eq!(interruptible(&interrupt, || charge(100_000)), Some(()));
        let mut done = 0;
        let end = interruptible(&interrupt, || {
            within(1_000_000, || {
                for _ in 0..100_000 {
                    charge(1);
                    done += 1;
                    interrupt.raise();
                }
            })
        });
        assert_eq!(end, None);
        assert!(done <= 5_000, "{done}");
        // Outside, nobody asks.
        charge(100_000);
    }

    #[test]
    fn a_fault_is_passed_on() {
        let end = catch_unwind(|| within(10, || panic!("a fault")));
        assert!(end.is_err_and(|why| !super::is_left_off(&*why)));
    }
}
