//! Sharing numbered chunks of work between threads, and handing the results over in order.
//!
//! It knows nothing of what the work is.

use crate::limits;
use std::collections::BTreeMap;
use std::ops::{ControlFlow, Range};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Duration;

/// The threads that share the work.
#[derive(Clone, Copy, Debug)]
pub struct ThreadPool {
    /// How many threads work.
    pub threads: usize,
    /// Stack of each thread, where the usual one is too small.
    pub stack_bytes: Option<usize>,
}

/// Chunks that each thread may finish while one is late, so that a thread which has to wait for its core does not hold up the others. They
/// bound the memory.
const AHEAD_OF_EACH: usize = 8;
/// The least number of chunks ahead in all.
const AHEAD_AT_LEAST: usize = 32;
const NAP: Duration = Duration::from_micros(200);

/// The number of cores, at least one.
pub fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Works on numbered pieces, each by itself, and gives the results in order; fewer after a stop. Without a number of threads all cores work.
pub fn all_of<T: Send>(threads: Option<usize>, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let mut done = Vec::with_capacity(count);
    let thread_pool = ThreadPool { threads: threads.unwrap_or_else(cores), stack_bytes: None };
    in_order(
        0..count,
        &thread_pool,
        || |piece| Some(work(piece)),
        |one| {
            done.push(one);
            ControlFlow::Continue(())
        },
    );
    done
}

/// Works on all chunks and hands each result to `take` in the order of the chunks, in the calling thread.
///
/// `make` builds what a thread works with, inside that thread. A worker that gives nothing was interrupted; then, and when
/// the evaluation is stopped or `take` breaks off, only the chunks before are handed over. Without further threads all happens in the
/// calling one.
pub fn in_order<T, W>(
    chunks: Range<usize>,
    thread_pool: &ThreadPool,
    make: impl Fn() -> W + Sync,
    mut take: impl FnMut(T) -> ControlFlow<()>,
) where
    T: Send,
    W: FnMut(usize) -> Option<T>,
{
    let budget = limits::current();
    let stopped = || budget.as_ref().is_some_and(|budget| budget.ended());
    let threads = thread_pool.threads.clamp(1, chunks.len().max(1));
    if threads == 1 {
        let mut work = make();
        for chunk in chunks {
            let Some(result) = (!stopped()).then(|| work(chunk)).flatten() else { return };
            if take(result).is_break() {
                return;
            }
        }
        return;
    }
    let ahead = (AHEAD_OF_EACH * threads).max(AHEAD_AT_LEAST);
    let next = AtomicUsize::new(chunks.start);
    let handed = AtomicUsize::new(chunks.start);
    let enough = AtomicBool::new(false);
    let ended = || stopped() || enough.load(Ordering::Relaxed);
    let run = |send: mpsc::Sender<(usize, T)>| {
        let _entered = budget.as_ref().map(limits::Budget::enter);
        let mut work = make();
        loop {
            let chunk = next.fetch_add(1, Ordering::Relaxed);
            if chunk >= chunks.end {
                return;
            }
            while chunk >= handed.load(Ordering::Relaxed) + ahead && !ended() {
                std::thread::sleep(NAP);
            }
            let result = if ended() { None } else { work(chunk) };
            let Some(result) = result else {
                enough.store(true, Ordering::Relaxed); // What comes after a gap is not handed over.
                return;
            };
            if send.send((chunk, result)).is_err() {
                return;
            }
        }
    };
    std::thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        for _ in 0..threads {
            let mut builder = std::thread::Builder::new();
            if let Some(bytes) = thread_pool.stack_bytes {
                builder = builder.stack_size(bytes);
            }
            let (sender, run) = (send.clone(), &run);
            if builder.spawn_scoped(scope, move || run(sender)).is_err() {
                break; // Fewer threads than asked for do the work as well.
            }
        }
        drop(send);
        let mut waiting = BTreeMap::new();
        for (chunk, result) in receive {
            waiting.insert(chunk, result);
            while let Some(result) = waiting.remove(&handed.load(Ordering::Relaxed)) {
                handed.fetch_add(1, Ordering::Relaxed);
                if take(result).is_break() {
                    enough.store(true, Ordering::Relaxed);
                    return;
                }
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thread_pool(threads: usize) -> ThreadPool {
        ThreadPool { threads, stack_bytes: None }
    }

    #[test]
    fn results_come_in_order_from_any_number_of_threads() {
        for threads in [1, 2, 7] {
            let mut seen = Vec::new();
            in_order(
                3..200,
                &thread_pool(threads),
                || |chunk| Some(chunk),
                |chunk| {
                    seen.push(chunk);
                    ControlFlow::Continue(())
                },
            );
            assert_eq!(seen, (3..200).collect::<Vec<_>>(), "{threads} threads");
        }
    }

    #[test]
    fn what_is_done_before_a_stop_is_handed_over_without_gaps() {
        for threads in [1, 2] {
            let stop = std::sync::Arc::new(AtomicBool::new(false));
            let _entered = limits::Budget::new(stop.clone()).enter();
            let mut seen = Vec::new();
            let work = || {
                |chunk| {
                    if chunk == 20 {
                        stop.store(true, Ordering::Relaxed);
                    }
                    Some(chunk)
                }
            };
            in_order(0..1000, &thread_pool(threads), work, |chunk| {
                seen.push(chunk);
                ControlFlow::Continue(())
            });
            assert_eq!(seen, (0..seen.len()).collect::<Vec<_>>());
            assert!((19..100).contains(&seen.len()), "{}", seen.len());
        }
    }

    #[test]
    fn whoever_takes_may_break_off() {
        let mut count = 0;
        in_order(
            0..1000,
            &thread_pool(2),
            || |chunk| Some(chunk),
            |_| {
                count += 1;
                if count == 5 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            },
        );
        assert_eq!(count, 5);
    }
}
