//! How far a long sweep is; whoever shows it is handed in with the context.

use super::context::{Context, Progressed};
use std::cell::Cell;
use std::time::{Duration, Instant};

/// The progress of one sweep; it is reported when the sweep takes over a second.
pub struct Progress<'c> {
    context: &'c Context,
    cases: usize,
    began: Instant,
    last: Cell<Option<Instant>>,
}

const FIRST: Duration = Duration::from_secs(1);
const EVERY: Duration = Duration::from_millis(200);

impl Progress<'_> {
    /// Begins to watch a sweep of this many cases.
    pub fn new(context: &Context, cases: usize) -> Progress<'_> {
        Progress { context, cases, began: Instant::now(), last: Cell::new(None) }
    }

    /// The number of all cases.
    pub fn cases(&self) -> usize {
        self.cases
    }

    /// Reports how many cases are done.
    pub fn report(&self, done: usize) {
        let now = Instant::now();
        let due = self.last.get().is_none_or(|last| now - last >= EVERY);
        if now - self.began >= FIRST && due {
            self.last.set(Some(now));
            self.context.show_progress(Some(Progressed { done, cases: self.cases, spent: now - self.began }));
        }
    }
}

impl Drop for Progress<'_> {
    fn drop(&mut self) {
        if self.last.get().is_some() {
            self.context.show_progress(None);
        }
    }
}
