//! The thread that sends open pages the progress of a run and what is done, also while a single statement takes long.
//!
//! Knows nothing of studies: what it shows was drawn by the worker.

use super::board::{Board, Said};
use crate::notebook::page::Page;
use crate::script::controls::Control;
use serde_json::json;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How often a running study says how far it is.
const SAY_EVERY: Duration = Duration::from_millis(100);

/// What is done up to now.
pub struct Interim {
    pub page: Page,
    pub controls: Vec<Control>,
    pub said: Said,
}

/// How far a run is.
#[derive(Clone, Debug, Default)]
pub struct Progress {
    /// Statements that are done, and all that run.
    pub done: usize,
    pub total: usize,
    /// Cells with statements that wait or run, from zero.
    pub waiting: Vec<usize>,
}

#[derive(Default)]
struct Shared {
    progress: Progress,
    interim: Option<Interim>,
}

/// The thread of one run.
pub struct Ticker {
    shared: Arc<Mutex<Shared>>,
    end: Sender<()>,
    thread: Option<JoinHandle<()>>,
}

fn lock(shared: &Mutex<Shared>) -> MutexGuard<'_, Shared> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

fn tick(shared: &Mutex<Shared>, board: &Board, began: Instant) {
    let (interim, Progress { done, total, waiting }) = {
        let mut shared = lock(shared);
        (shared.interim.take(), shared.progress.clone())
    };
    if let Some(Interim { page, controls, said }) = interim {
        board.stand(page, controls, said);
    }
    let seconds = began.elapsed().as_secs();
    board.progress(&json!({ "done": done, "total": total, "seconds": seconds, "waiting": waiting }).to_string());
}

impl Ticker {
    /// Starts reporting, a moment from now; where no thread is available, the run only reports less.
    pub fn start(board: Arc<Board>) -> Ticker {
        let shared = Arc::<Mutex<Shared>>::default();
        let (end, ended) = channel();
        let (seen, began) = (shared.clone(), Instant::now());
        let work = move || {
            while ended.recv_timeout(SAY_EVERY) == Err(RecvTimeoutError::Timeout) {
                tick(&seen, &board, began);
            }
        };
        Ticker { shared, end, thread: std::thread::Builder::new().spawn(work).ok() }
    }

    /// Notes how far the run is.
    pub fn note(&self, progress: Progress) {
        lock(&self.shared).progress = progress;
    }

    /// Gives what to show at the next tick.
    pub fn show(&self, interim: Interim) {
        lock(&self.shared).interim = Some(interim);
    }

    /// Ends; nothing is reported afterwards.
    pub fn end(self) {
        drop(self.end);
        let _ = self.thread.map(JoinHandle::join);
    }
}
