//! The thread that sends open pages the progress of a run and what is done, also while a single statement takes long.
//!
//! Knows nothing of studies: what it shows was drawn by the worker.

use super::board::Board;
use serde_json::json;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How often a running study says how far it is.
const SAY_EVERY: Duration = Duration::from_millis(100);

/// What is done up to now.
pub struct Interim {
    /// The whole page, where there is none yet.
    pub page: Option<String>,
    pub news: String,
}

#[derive(Default)]
struct Shared {
    done: AtomicUsize,
    total: AtomicUsize,
    interim: Mutex<Option<Interim>>,
    shown: AtomicBool,
}

impl Shared {
    fn tick(&self, board: &Board, began: Instant) {
        let interim = self.interim.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(Interim { page, news }) = interim {
            board.stand(page, &news, &news);
            self.shown.store(true, Ordering::SeqCst);
        }
        let (done, total) = (self.done.load(Ordering::Relaxed), self.total.load(Ordering::Relaxed));
        board.progress(&json!({ "done": done, "total": total, "seconds": began.elapsed().as_secs() }).to_string());
    }
}

/// The thread of one run.
pub struct Ticker {
    shared: Arc<Shared>,
    end: Sender<()>,
    thread: Option<JoinHandle<()>>,
}

impl Ticker {
    /// Starts reporting, a moment from now; where no thread is available, the run only reports less.
    pub fn start(board: Arc<Board>) -> Ticker {
        let shared = Arc::new(Shared::default());
        let (end, ended) = channel();
        let (seen, began) = (shared.clone(), Instant::now());
        let work = move || {
            while ended.recv_timeout(SAY_EVERY) == Err(RecvTimeoutError::Timeout) {
                seen.tick(&board, began);
            }
        };
        Ticker { shared, end, thread: std::thread::Builder::new().spawn(work).ok() }
    }

    /// Notes how many statements are done, and of how many.
    pub fn note(&self, done: usize, total: usize) {
        self.shared.done.store(done, Ordering::Relaxed);
        self.shared.total.store(total, Ordering::Relaxed);
    }

    /// Gives what to show at the next tick.
    pub fn show(&self, interim: Interim) {
        *self.shared.interim.lock().unwrap_or_else(PoisonError::into_inner) = Some(interim);
    }

    /// Ends; nothing is reported afterwards. True when something in between was shown.
    pub fn end(self) -> bool {
        drop(self.end);
        let _ = self.thread.map(JoinHandle::join);
        self.shared.shown.load(Ordering::SeqCst)
    }
}
