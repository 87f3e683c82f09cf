//! What the worker tells to all open pages, and how things stand for those that open later.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How long a page that opens waits for the first run to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// The board.
#[derive(Default)]
pub struct Board {
    inner: Mutex<Inner>,
    changed: Condvar,
}

#[derive(Default)]
struct Inner {
    page: String,
    /// The event that brings an open page to how things stand.
    standing: String,
    listeners: Vec<Sender<String>>,
}

impl Board {
    /// The whole page as it stands; waits a little for the first one.
    pub fn page(&self) -> String {
        let empty = |inner: &mut Inner| inner.page.is_empty();
        let waited = self.changed.wait_timeout_while(self.lock(), PATIENCE, empty);
        let inner = waited.unwrap_or_else(PoisonError::into_inner).0;
        if inner.page.is_empty() { WAITING.to_string() } else { inner.page.clone() }
    }

    /// Events from now on, the first of them how things stand.
    pub fn listen(&self) -> Receiver<String> {
        let (sender, receiver) = channel();
        let mut inner = self.lock();
        if !inner.standing.is_empty() {
            let _ = sender.send(inner.standing.clone());
        }
        inner.listeners.push(sender);
        receiver
    }

    /// Sets how things stand, and tells it.
    pub fn set(&self, page: String, standing: &str, news: &str) {
        self.stand(Some(page), standing, news);
    }

    /// True before the first page.
    pub fn is_blank(&self) -> bool {
        self.lock().page.is_empty()
    }

    /// Sets how things stand, with a new page or under the old one, and tells it.
    pub fn stand(&self, page: Option<String>, standing: &str, news: &str) {
        let mut inner = self.lock();
        inner.standing = event("cells", standing);
        inner.page = page.unwrap_or_else(|| std::mem::take(&mut inner.page));
        self.changed.notify_all();
        drop(inner);
        self.tell("cells", news);
    }

    /// Tells something to all open pages.
    pub fn tell(&self, kind: &str, data: &str) {
        let event = event(kind, data);
        self.lock().listeners.retain(|listener| listener.send(event.clone()).is_ok());
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A server-sent event; the data is one line of JSON.
fn event(kind: &str, data: &str) -> String {
    format!("event: {kind}\ndata: {data}\n\n")
}

/// For whoever opens the page while the first run goes on; it looks again by itself.
const WAITING: &str = "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta http-equiv=\"refresh\" content=\"1\">\
<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><meta name=\"color-scheme\" content=\"light dark\">\
<title>running</title></head><body><p role=\"status\">The study is running for the first time.</p></body></html>\n";
