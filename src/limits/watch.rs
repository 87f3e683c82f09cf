//! Watches time and memory while something is evaluated, and stops it when there is no more of either.
//!
//! A thread of its own looks every few milliseconds, so that functions which take long need only the stop flag. Knows the
//! memory of the program only where the system reports it; elsewhere only the limits of single values hold.

use super::budget::{Budget, Entered};
use super::limit::{LOOK_EVERY, Limits, Reached};
use super::memory::used_bytes;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// Watches the evaluations of one context, one after another. The thread begins with the first of them.
pub struct Watch {
    shared: Arc<Shared>,
    begun: AtomicBool,
}

struct Shared {
    budget: Arc<Budget>,
    state: Mutex<State>,
    changed: Condvar,
}

struct State {
    /// When the evaluation began that runs now.
    since: Option<Instant>,
    closed: bool,
}

/// Ends the watch of one evaluation when it is dropped.
pub struct Watched<'w> {
    watch: &'w Watch,
    _entered: Entered,
}

impl Watch {
    /// A watch that sets this flag.
    pub fn new(stop: Arc<AtomicBool>) -> Watch {
        let state = Mutex::new(State { since: None, closed: false });
        let shared = Shared { budget: Budget::new(stop), state, changed: Condvar::new() };
        Watch { shared: Arc::new(shared), begun: AtomicBool::new(false) }
    }

    /// What the evaluations may use, to be entered by threads of their own.
    pub fn budget(&self) -> &Arc<Budget> {
        &self.shared.budget
    }

    /// What each evaluation may use; worked out when first asked for.
    pub fn limits(&self) -> Limits {
        self.shared.budget.limits()
    }

    /// Sets what each evaluation may use from now on.
    pub fn set_limits(&self, limits: Limits) {
        self.shared.budget.set_limits(limits);
    }

    /// Which limit the last evaluation reached.
    pub fn reached(&self) -> Reached {
        self.shared.budget.reached()
    }

    /// Watches what this thread does until the answer is dropped.
    pub fn begin(&self) -> Watched<'_> {
        if !self.begun.swap(true, Ordering::SeqCst) {
            let shared = self.shared.clone();
            // A machine that gives no thread gives no watch: the script runs all the same.
            drop(std::thread::Builder::new().stack_size(128 << 10).spawn(move || shared.look()));
        }
        self.shared.budget.begin();
        self.shared.state().since = Some(Instant::now());
        self.shared.changed.notify_all();
        Watched { watch: self, _entered: self.shared.budget.enter() }
    }
}

impl Drop for Watched<'_> {
    fn drop(&mut self) {
        let shared = &self.watch.shared;
        shared.state().since = None;
        shared.budget.finish();
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.shared.state().closed = true;
        self.shared.changed.notify_all();
    }
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn look(&self) {
        let mut state = self.state();
        while !state.closed {
            let Some(since) = state.since else {
                state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
                continue;
            };
            let waited = self.changed.wait_timeout(state, LOOK_EVERY);
            state = waited.unwrap_or_else(PoisonError::into_inner).0;
            if state.since != Some(since) || since.elapsed() < LOOK_EVERY {
                continue;
            }
            let limits = self.budget.limits();
            if limits.time.is_some_and(|most| since.elapsed() > most) {
                self.budget.end(Reached::Time);
            } else if limits.memory_bytes.is_some_and(|most| used_bytes().is_some_and(|used| used > most)) {
                self.budget.end(Reached::Memory);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::memory::free_bytes;
    use std::time::Duration;

    fn watch(limits: Limits) -> (Watch, Arc<AtomicBool>) {
        let stop = Arc::new(AtomicBool::new(false));
        let watch = Watch::new(stop.clone());
        watch.set_limits(limits);
        (watch, stop)
    }

    fn wait_for(stop: &AtomicBool) {
        while !stop.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    #[test]
    fn too_much_time_sets_the_flag_and_the_end_takes_it_back() {
        let (watch, stop) = watch(Limits { time: Some(Duration::from_millis(30)), memory_bytes: None });
        for _ in 0..2 {
            let watched = watch.begin();
            wait_for(&stop);
            drop(watched);
            assert!(!stop.load(Ordering::SeqCst));
            assert_eq!(watch.reached(), Reached::Time);
        }
        drop(watch.begin());
        assert_eq!(watch.reached(), Reached::Nothing);
    }

    #[test]
    fn too_much_memory_sets_the_flag() {
        let (watch, stop) = watch(Limits { time: None, memory_bytes: Some(1) });
        let watched = watch.begin();
        wait_for(&stop);
        drop(watched);
        assert_eq!(watch.reached(), Reached::Memory);
        assert!(used_bytes().is_some_and(|bytes| bytes > 100_000) && free_bytes().is_some());
    }

    #[test]
    fn a_flag_that_somebody_else_set_stays() {
        let (watch, stop) = watch(Limits { time: None, memory_bytes: None });
        let watched = watch.begin();
        stop.store(true, Ordering::SeqCst);
        drop(watched);
        assert!(stop.load(Ordering::SeqCst));
    }
}
