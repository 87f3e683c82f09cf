//! A line that says that work goes on, for entries that take long.

use super::status_line;
use std::io::{self, IsTerminal};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Shorter work says nothing.
const PATIENCE: Duration = Duration::from_millis(1500);
const EVERY: Duration = Duration::from_millis(500);

/// Says so on the terminal until it is dropped or something is shown.
pub struct Waiting {
    running: Option<(Sender<()>, JoinHandle<()>)>,
    done: Sender<()>,
}

impl Waiting {
    /// Begins to wait; on anything but a terminal nothing is said.
    pub fn begin() -> Waiting {
        let (done, over) = channel();
        if !io::stderr().is_terminal() {
            return Waiting { running: None, done };
        }
        let start = Instant::now();
        let thread = std::thread::spawn(move || {
            let mut patience = PATIENCE;
            while let Err(RecvTimeoutError::Timeout) = over.recv_timeout(patience) {
                patience = EVERY;
                status_line::waiting(&format!("working for {} s; Ctrl-C stops it", start.elapsed().as_secs()));
            }
            status_line::wipe();
        });
        Waiting { running: Some((done.clone(), thread)), done }
    }

    /// Says nothing from now on, as something else is shown.
    pub fn quiet(&self) {
        let _ = self.done.send(());
        // The line must be gone before anything else is written.
        while self.running.as_ref().is_some_and(|(_, thread)| !thread.is_finished()) {
            std::thread::sleep(Duration::from_micros(50));
        }
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.quiet();
        if let Some((_, thread)) = self.running.take() {
            let _ = thread.join();
        }
    }
}
