//! Work of a library, or a sort, that does not ask whether it may go on, done in a thread of its own and abandoned when it may not.
//!
//! What is abandoned ends by itself, without a report; so this is for one call of a library, never for work of ours,
//! which asks for itself.

use super::budget::{Ended, current};
use super::limit::{LOOK_EVERY, Reached};
use std::cmp::Ordering;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::mpsc::{RecvTimeoutError, channel};

/// Stack of the thread; the usual one of a program's first thread.
const STACK_BYTES: usize = 8 << 20;

/// What the work gives; where nothing is limited it is done in this thread. A panic of the work goes on in this thread.
///
/// Errors: the evaluation ended first.
pub fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Ended> {
    let Some(budget) = current() else { return Ok(work()) };
    let (send, receive) = channel();
    let inside = budget.clone();
    let thread = std::thread::Builder::new().stack_size(STACK_BYTES).spawn(move || {
        let _entered = inside.enter();
        // Nobody may listen any more.
        let _ = send.send(catch_unwind(AssertUnwindSafe(work)));
    });
    if thread.is_err() {
        budget.end(Reached::Memory); // No thread is to be had, so there is no room for more work either.
    }
    loop {
        match receive.recv_timeout(LOOK_EVERY) {
            Ok(done) => return Ok(done.unwrap_or_else(|panic| resume_unwind(panic))),
            Err(RecvTimeoutError::Timeout) if !budget.ended() => {}
            Err(_) => return Err(Ended),
        }
    }
}

/// Sorting this many values takes a noticeable time.
const MANY: usize = 200_000;

/// The values in that order, where equal ones may change places. Errors: the evaluation is to end.
pub fn sorted<T: Send + 'static>(
    mut values: Vec<T>,
    order: impl Fn(&T, &T) -> Ordering + Send + 'static,
) -> Result<Vec<T>, Ended> {
    let few = values.len() < MANY;
    let sort = move || {
        values.sort_unstable_by(order);
        values
    };
    if few { Ok(sort()) } else { aside(sort) }
}

#[cfg(test)]
mod tests {
    use super::super::{Budget, ended, go_on};
    use super::*;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};
    use std::time::Duration;

    #[test]
    fn work_is_done_within_the_same_budget_and_left_behind_at_a_stop() {
        let stop = Arc::new(AtomicBool::new(false));
        let _inside = Budget::new(stop.clone()).enter();
        assert_eq!(aside(|| (6 * 7, ended())), Ok((42, false)));
        let flag = stop.clone();
        let never = move || {
            flag.store(true, Ordering::SeqCst);
            loop {
                std::thread::sleep(Duration::from_secs(60));
            }
        };
        assert_eq!(aside(never), Err::<(), Ended>(Ended));
        assert_eq!(go_on(), Err(Ended));
    }
}
