//! What open pages ask of the worker, gathered until it has time: of many values for one control the last counts.
//!
//! Whoever asks also ends the run that goes on, once it has lasted a moment: a run that is shorter shows its pictures while somebody
//! still moves a handle.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime};

/// A run that lasts no longer than this is never ended by a control.
const FOLLOWS: Duration = Duration::from_millis(100);

/// When a file was last written, and its size.
pub type Stamp = Option<(SystemTime, u64)>;

/// Values for controls, by name, in the units of their inputs; nothing sets a control back to its start.
pub type Values = Vec<(String, Option<f64>)>;

/// What is asked for.
#[derive(Debug, Default, PartialEq)]
pub struct Wish {
    /// Values for controls.
    pub values: Values,
    /// Whether somebody holds a handle; nothing where that is as before.
    pub held: Option<bool>,
}

#[derive(Default)]
struct Inner {
    wish: Wish,
    /// True when the files are to be looked at now.
    look: bool,
    /// When the run that goes on began, and of which text it is.
    running: Option<(Instant, Stamp)>,
}

/// What is asked for until the worker takes it.
pub struct Wishes {
    inner: Mutex<Inner>,
    arrived: Condvar,
    superseded: Arc<AtomicBool>,
    stop: Arc<AtomicBool>,
}

impl Wishes {
    /// Nothing is asked for yet. The flags end a run: one says why, the other stops it.
    pub fn new(superseded: Arc<AtomicBool>, stop: Arc<AtomicBool>) -> Wishes {
        Wishes { inner: Mutex::default(), arrived: Condvar::new(), superseded, stop }
    }

    /// Asks for values.
    pub fn ask(&self, asked: Wish) {
        let mut inner = self.lock();
        for (name, value) in asked.values {
            inner.wish.values.retain(|(other, _)| *other != name);
            inner.wish.values.push((name, value));
        }
        inner.wish.held = asked.held.or(inner.wish.held);
        self.end_if_old(&inner);
        self.arrived.notify_all();
    }

    /// Asks for a look at the files.
    pub fn look(&self) {
        self.lock().look = true;
        self.arrived.notify_all();
    }

    /// Waits for a while, and gives what is asked for; nothing where that is nothing.
    pub fn take(&self, patience: Duration) -> Option<Wish> {
        let idle = |inner: &mut Inner| inner.wish == Wish::default() && !inner.look;
        let waited = self.arrived.wait_timeout_while(self.lock(), patience, idle);
        let mut inner = waited.unwrap_or_else(PoisonError::into_inner).0;
        inner.look = false;
        let wish = std::mem::take(&mut inner.wish);
        (wish != Wish::default()).then_some(wish)
    }

    /// A run of a text begins. What ended the one before counts no more.
    pub fn begin(&self, text: Stamp) {
        self.set(Some((Instant::now(), text)));
    }

    /// The run is over.
    pub fn end(&self) {
        self.set(None);
    }

    fn set(&self, running: Option<(Instant, Stamp)>) {
        let mut inner = self.lock();
        inner.running = running;
        self.superseded.store(false, Ordering::SeqCst);
        self.stop.store(false, Ordering::SeqCst);
    }

    /// Ends a run whose text is no longer what is on the disk, and one that lasts while something else is asked for.
    pub fn compare(&self, now: Stamp) {
        let inner = self.lock();
        if now.is_some() && inner.running.is_some_and(|(_, text)| text != now) {
            self.end_run();
        }
        if !inner.wish.values.is_empty() {
            self.end_if_old(&inner);
        }
    }

    fn end_if_old(&self, inner: &Inner) {
        if inner.running.is_some_and(|(began, _)| began.elapsed() >= FOLLOWS) {
            self.end_run();
        }
    }

    fn end_run(&self) {
        self.superseded.store(true, Ordering::SeqCst);
        self.stop.store(true, Ordering::SeqCst);
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wishes() -> Wishes {
        Wishes::new(Arc::default(), Arc::default())
    }

    fn values(values: &[(&str, f64)]) -> Wish {
        Wish { values: values.iter().map(|(name, value)| (name.to_string(), Some(*value))).collect(), held: None }
    }

    #[test]
    fn of_many_values_the_last_of_each_control_counts() {
        let wishes = wishes();
        for (name, value) in [("a", 1.0), ("a", 2.0), ("b", 7.0), ("a", 3.0)] {
            wishes.ask(values(&[(name, value)]));
        }
        assert_eq!(wishes.take(Duration::ZERO), Some(values(&[("b", 7.0), ("a", 3.0)])));
        assert_eq!(wishes.take(Duration::ZERO), None);
    }

    #[test]
    fn only_a_run_of_another_text_than_that_on_the_disk_is_ended_at_once() {
        let wishes = wishes();
        let (old, new) = (Some((SystemTime::UNIX_EPOCH, 1)), Some((SystemTime::UNIX_EPOCH, 2)));
        let ended = || (wishes.superseded.load(Ordering::SeqCst), wishes.stop.load(Ordering::SeqCst));
        wishes.compare(new);
        assert_eq!(ended(), (false, false), "nothing runs");
        wishes.begin(new);
        wishes.compare(new);
        assert_eq!(ended(), (false, false), "it runs what is on the disk");
        wishes.compare(None);
        assert_eq!(ended(), (false, false), "a file that is being replaced");
        wishes.begin(old);
        wishes.compare(new);
        assert_eq!(ended(), (true, true));
        wishes.end();
        assert_eq!(ended(), (false, false));
    }

    #[test]
    fn a_value_ends_a_run_that_has_lasted_and_lets_a_short_one_finish() {
        let wishes = wishes();
        let ended = || wishes.superseded.load(Ordering::SeqCst);
        wishes.begin(None);
        wishes.ask(values(&[("a", 1.0)]));
        assert!(!ended(), "it has just begun");
        std::thread::sleep(FOLLOWS);
        wishes.compare(None);
        assert!(ended(), "it lasts, and a value waits");
        wishes.end();
        wishes.take(Duration::ZERO);
        wishes.begin(None);
        std::thread::sleep(FOLLOWS);
        wishes.compare(None);
        assert!(!ended(), "nothing waits");
        wishes.ask(values(&[("a", 2.0)]));
        assert!(ended(), "it has lasted when the value comes");
    }
}
