//! The stop flag and the memory that an evaluation may use, and whose evaluation runs in this thread.

use super::limit::{Limits, Reached};
use super::memory::used_bytes;
use std::cell::RefCell;
use std::marker::PhantomData;
use std::sync::atomic::{AtomicBool, AtomicU8, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use thiserror::Error;

/// The evaluation was stopped, by somebody or by a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("stopped")]
pub struct Ended;

/// What the evaluations of one context share: a flag that ends them, and what they may use.
#[derive(Debug)]
pub struct Budget {
    stop: Arc<AtomicBool>,
    reached: AtomicU8,
    limits: Mutex<Option<Limits>>,
}

thread_local! {
    static CURRENT: RefCell<Option<Arc<Budget>>> = const { RefCell::new(None) };
}

/// So little memory is taken without asking the system how much there is: the watch sees it in time.
const LITTLE_BYTES: u64 = 4 << 20;

impl Budget {
    /// A budget with this flag and the usual limits.
    pub fn new(stop: Arc<AtomicBool>) -> Arc<Budget> {
        Arc::new(Budget { stop, reached: AtomicU8::new(Reached::Nothing as u8), limits: Mutex::new(None) })
    }

    /// What may be used; worked out when first asked for.
    pub fn limits(&self) -> Limits {
        *self.limits.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert_with(Limits::usual)
    }

    /// Sets what may be used from now on, in place of the usual limits.
    pub fn set_limits(&self, limits: Limits) {
        *self.limits.lock().unwrap_or_else(PoisonError::into_inner) = Some(limits);
    }

    /// True once the evaluation is to end.
    pub fn ended(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Which limit the evaluation reached that runs now, or ran last.
    pub fn reached(&self) -> Reached {
        Reached::of(self.reached.load(Ordering::SeqCst))
    }

    /// Ends the evaluation for that reason.
    pub(super) fn end(&self, reached: Reached) {
        self.reached.store(reached as u8, Ordering::SeqCst);
        self.stop.store(true, Ordering::SeqCst);
    }

    /// Begins anew: no limit is reached.
    pub(super) fn begin(&self) {
        self.reached.store(Reached::Nothing as u8, Ordering::SeqCst);
    }

    /// Takes a stop back that a limit made; one that somebody else made stays.
    pub(super) fn finish(&self) {
        if self.reached() != Reached::Nothing {
            self.stop.store(false, Ordering::SeqCst);
        }
    }

    /// Makes this the budget of what this thread does until the answer is dropped.
    pub fn enter(self: &Arc<Budget>) -> Entered {
        let before = CURRENT.with(|current| current.borrow_mut().replace(self.clone()));
        Entered { before, stays_in_its_thread: PhantomData }
    }

    /// Asks for this much more memory. Errors: a stop; too much, which stops the evaluation.
    pub fn room_for(&self, bytes: u64) -> Result<(), Ended> {
        if self.ended() {
            return Err(Ended);
        }
        if bytes > LITTLE_BYTES
            && let Some(most) = self.limits().memory_bytes
            && used_bytes().is_some_and(|used| used.saturating_add(bytes) > most)
        {
            self.end(Reached::Memory);
            return Err(Ended);
        }
        Ok(())
    }
}

/// Gives the thread its former budget back when it is dropped.
#[must_use = "the budget holds as long as this is kept"]
pub struct Entered {
    before: Option<Arc<Budget>>,
    stays_in_its_thread: PhantomData<*const ()>,
}

impl Drop for Entered {
    fn drop(&mut self) {
        let before = self.before.take();
        CURRENT.with(|current| *current.borrow_mut() = before);
    }
}

/// The budget of what this thread does, to be entered by threads that help it.
pub fn current() -> Option<Arc<Budget>> {
    CURRENT.with(|current| current.borrow().clone())
}

/// True once the evaluation that runs in this thread is to end.
pub fn ended() -> bool {
    CURRENT.with(|current| current.borrow().as_ref().is_some_and(|budget| budget.ended()))
}

/// For loops that may take long: `limits::go_on()?`. Errors: the evaluation is to end.
pub fn go_on() -> Result<(), Ended> {
    if ended() { Err(Ended) } else { Ok(()) }
}

/// For whatever grows with what is given, before it takes the memory. Errors: the evaluation is to end, or ends since this is
/// more than it may use.
pub fn room_for(bytes: usize) -> Result<(), Ended> {
    CURRENT.with(|current| current.borrow().as_ref().map_or(Ok(()), |budget| budget.room_for(bytes as u64)))
}

/// Ends the evaluation since something that it needs and had before is gone.
pub fn lose() {
    if let Some(budget) = current() {
        budget.end(Reached::Lost);
    }
}

/// Puts together what is done of an evaluation that was stopped: it may go on as if nobody had stopped it, and must be short.
pub fn unasked<T>(work: impl FnOnce() -> T) -> T {
    let before = CURRENT.with(|current| current.borrow_mut().take());
    let _back = Entered { before, stays_in_its_thread: PhantomData };
    work()
}

/// Steps between two looks of [`Steps`], at a microsecond or less each.
const STEPS_BETWEEN: u32 = 1024;

/// Counts short steps of a loop and asks [`go_on`] now and then, where asking each time would cost more than the step.
#[derive(Clone, Copy, Debug, Default)]
pub struct Steps(u32);

/// Bytes copied that weigh as much as a step.
const BYTES_OF_A_STEP: usize = 1024;

impl Steps {
    /// A step was made that copies this many bytes. Errors: the evaluation is to end.
    pub fn weigh(&mut self, bytes: usize) -> Result<(), Ended> {
        self.0 = self.0.saturating_add(u32::try_from(bytes / BYTES_OF_A_STEP).unwrap_or(u32::MAX));
        self.step()
    }

    /// A step was made. Errors: the evaluation is to end.
    pub fn step(&mut self) -> Result<(), Ended> {
        self.0 = self.0.saturating_add(1);
        if self.0 < STEPS_BETWEEN {
            return Ok(());
        }
        self.0 = 0;
        go_on()
    }
}

/// Items as long as the evaluation goes on, for a loop of short steps: it may end early, since nobody sees then what it gives. The first
/// thousand come in any case, so that what is not empty stays so.
pub fn while_going_on<T>(items: impl IntoIterator<Item = T>) -> impl Iterator<Item = T> {
    let mut steps = Steps::default();
    items.into_iter().take_while(move |_| steps.step().is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn budget(memory_bytes: u64) -> Arc<Budget> {
        let budget = Budget::new(Arc::default());
        budget.set_limits(Limits { time: None, memory_bytes: Some(memory_bytes) });
        budget
    }

    #[test]
    fn a_thread_asks_the_budget_that_it_entered_last() {
        let (outer, inner) = (budget(u64::MAX), budget(u64::MAX));
        assert_eq!((go_on(), room_for(usize::MAX)), (Ok(()), Ok(())));
        let in_outer = outer.enter();
        inner.stop.store(true, Ordering::SeqCst);
        assert_eq!(go_on(), Ok(()));
        let in_inner = inner.enter();
        assert_eq!((go_on(), ended()), (Err(Ended), true));
        let mut steps = Steps::default();
        assert!((0..STEPS_BETWEEN).any(|_| steps.step().is_err()));
        assert_eq!(while_going_on(0..9999).count(), STEPS_BETWEEN as usize - 1);
        assert_eq!((unasked(go_on), go_on()), (Ok(()), Err(Ended)));
        assert_eq!(unasked(|| while_going_on(0..9999).count()), 9999);
        drop(in_inner);
        assert_eq!(go_on(), Ok(()));
        drop(in_outer);
        assert!(current().is_none());
    }

    #[test]
    fn more_memory_than_there_may_be_is_refused_and_stops_the_evaluation() {
        let budget = budget(2_000_000_000);
        let _inside = budget.enter();
        assert_eq!(room_for(1 << 20), Ok(()));
        assert_eq!((budget.reached(), go_on()), (Reached::Nothing, Ok(())));
        assert_eq!(room_for(usize::MAX), Err(Ended));
        assert_eq!((budget.reached(), go_on()), (Reached::Memory, Err(Ended)));
    }
}
