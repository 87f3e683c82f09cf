//! Watches time and memory while a script is evaluated, and stops it when there is no more of either.
//!
//! A thread of its own looks every few milliseconds, so that words which take long need nothing but the stop flag. Knows the
//! memory of the program only where the system tells it in `/proc` (Linux); elsewhere only the limits of single values hold.

use super::diagnostic::{Diagnostic, Trouble};
use std::sync::atomic::{AtomicBool, AtomicU8, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// How often time and memory are looked at.
const LOOK_EVERY: Duration = Duration::from_millis(20);
/// The part of the memory that is free at the start which a study may use.
const USUAL_PART: f64 = 0.75;
/// Bytes of a page of memory, as good as always.
const PAGE_BYTES: u64 = 4096;

/// What an evaluation may use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Nothing stands for as long as it takes.
    pub time: Option<Duration>,
    /// Memory of the whole program; nothing stands for as much as there is.
    pub memory_bytes: Option<u64>,
}

impl Limits {
    /// Any time, and three quarters of the memory that is free now.
    pub fn usual() -> Limits {
        let free = free_bytes().map(|free| (free as f64 * USUAL_PART) as u64);
        Limits { time: None, memory_bytes: free.map(|free| free + used_bytes().unwrap_or(0)) }
    }
}

/// Which limit an evaluation reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
enum Reached {
    Nothing,
    Time,
    Memory,
}

/// Watches the evaluations of one context, one after another. The thread begins with the first of them.
pub struct Watch {
    shared: Arc<Shared>,
    begun: AtomicBool,
}

struct Shared {
    stop: Arc<AtomicBool>,
    reached: AtomicU8,
    state: Mutex<State>,
    changed: Condvar,
}

struct State {
    limits: Option<Limits>,
    /// When the evaluation began that runs now.
    since: Option<Instant>,
    closed: bool,
}

/// Ends the watch of one evaluation when it is dropped.
pub struct Watched<'w>(&'w Watch);

impl Watch {
    /// A watch that sets this flag.
    pub fn new(stop: Arc<AtomicBool>) -> Watch {
        let state = Mutex::new(State { limits: None, since: None, closed: false });
        let shared = Shared { stop, reached: AtomicU8::new(Reached::Nothing as u8), state, changed: Condvar::new() };
        Watch { shared: Arc::new(shared), begun: AtomicBool::new(false) }
    }

    pub fn limits(&self) -> Limits {
        *self.shared.state().limits.get_or_insert_with(Limits::usual)
    }

    pub fn set_limits(&self, limits: Limits) {
        self.shared.state().limits = Some(limits);
    }

    /// Watches until the answer is dropped.
    pub fn begin(&self) -> Watched<'_> {
        if !self.begun.swap(true, Ordering::SeqCst) {
            let shared = self.shared.clone();
            // A machine that gives no thread gives no watch: the script runs all the same.
            drop(std::thread::Builder::new().stack_size(128 << 10).spawn(move || shared.look()));
        }
        self.shared.reached.store(Reached::Nothing as u8, Ordering::SeqCst);
        self.shared.state().since = Some(Instant::now());
        self.shared.changed.notify_all();
        Watched(self)
    }

    /// The message when the last evaluation was stopped by a limit.
    pub fn message(&self) -> Option<Diagnostic> {
        let limits = self.limits();
        let reached = self.shared.reached.load(Ordering::SeqCst);
        let (message, hint) = if reached == Reached::Time as u8 {
            let seconds = limits.time?.as_secs_f64();
            (
                format!("this takes longer than {seconds} s, the time limit"),
                "does a loop run without end? give more time with --time-limit, or leave it out",
            )
        } else if reached == Reached::Memory as u8 {
            let megabytes = limits.memory_bytes? / 1_000_000;
            (
                format!("this needs more than {megabytes} MB of memory, which is the limit"),
                "does a loop add without end? a large sweep goes into a file with sweep_to(...); --memory-limit allows more",
            )
        } else {
            return None;
        };
        Some(Diagnostic { hint: Some(hint.into()), ..Diagnostic::new(Trouble::Limit, message) })
    }
}

impl Drop for Watched<'_> {
    fn drop(&mut self) {
        let shared = &self.0.shared;
        shared.state().since = None;
        if shared.reached.load(Ordering::SeqCst) != Reached::Nothing as u8 {
            shared.stop.store(false, Ordering::SeqCst);
        }
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
            let limits = *state.limits.get_or_insert_with(Limits::usual);
            let reached = if limits.time.is_some_and(|most| since.elapsed() > most) {
                Reached::Time
            } else if limits.memory_bytes.is_some_and(|most| used_bytes().is_some_and(|used| used > most)) {
                Reached::Memory
            } else {
                continue;
            };
            self.reached.store(reached as u8, Ordering::SeqCst);
            self.stop.store(true, Ordering::SeqCst);
        }
    }
}

/// Memory that the program holds; nothing where the system does not tell.
fn used_bytes() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/self/statm").ok()?;
    let pages: u64 = text.split(' ').nth(1)?.parse().ok()?;
    Some(pages * PAGE_BYTES)
}

/// Memory of the machine that is free; nothing where the system does not tell.
fn free_bytes() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/meminfo").ok()?;
    let line = text.lines().find(|line| line.starts_with("MemAvailable:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes * 1024)
}

#[cfg(test)]
mod tests {
    use super::*;

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
            assert!(watch.message().expect("a limit").message.contains("longer than 0.03 s"));
        }
        drop(watch.begin());
        assert_eq!(watch.message(), None);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn too_much_memory_sets_the_flag() {
        let (watch, stop) = watch(Limits { time: None, memory_bytes: Some(1) });
        let watched = watch.begin();
        wait_for(&stop);
        drop(watched);
        assert!(watch.message().expect("a limit").message.contains("more than 0 MB"));
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
