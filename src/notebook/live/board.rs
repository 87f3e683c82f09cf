//! What the worker sends to all open pages, and the current state for those that open later.
//!
//! Only the newest is kept: a page that reads slowly misses what lay between, and is brought to the current state.

use hyper::body::Bytes;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::timeout;

/// How long a page that opens waits for the first run to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// The board.
pub struct Board {
    state: watch::Sender<State>,
}

#[derive(Default)]
struct State {
    page: Bytes,
    /// The event that brings an open page to the current state.
    standing: Bytes,
    /// The event that does so for a page that heard all those before.
    news: Bytes,
    /// Counts the news.
    number: u64,
    /// How far a run is.
    progress: Bytes,
    /// Counts what was said of progress.
    ticks: u64,
}

impl Default for Board {
    fn default() -> Board {
        Board { state: watch::channel(State::default()).0 }
    }
}

impl Board {
    /// The whole page as it stands; waits a little for the first one.
    pub async fn page(&self) -> Bytes {
        let mut seen = self.state.subscribe();
        let waited = timeout(PATIENCE, seen.wait_for(|state| !state.page.is_empty())).await;
        let page = waited.ok().and_then(Result::ok).map(|state| state.page.clone());
        page.unwrap_or_else(|| Bytes::from_static(WAITING.as_bytes()))
    }

    /// Events from now on, the first of them the current state.
    pub fn listen(&self) -> Listener {
        Listener { state: self.state.subscribe(), number: 0, ticks: self.state.borrow().ticks }
    }

    /// Sets the state at the end of a run, and sends it.
    pub fn set(&self, page: String, standing: &str, news: &str) {
        self.state.send_modify(|state| {
            state.progress = Bytes::new();
            state.stand(Some(page), standing, news);
        });
    }

    /// True before the first page.
    pub fn is_blank(&self) -> bool {
        self.state.borrow().page.is_empty()
    }

    /// Sets the state, with a new page or under the old one, and sends it.
    pub fn stand(&self, page: Option<String>, standing: &str, news: &str) {
        self.state.send_modify(|state| state.stand(page, standing, news));
    }

    /// Sends something to the pages that are open, which does not change the state.
    pub fn send(&self, news: &str) {
        self.state.send_modify(|state| {
            state.news = event("cells", news);
            state.number += 1;
        });
    }

    /// Sends the progress of a run.
    pub fn progress(&self, data: &str) {
        self.state.send_modify(|state| {
            state.progress = event("running", data);
            state.ticks += 1;
        });
    }
}

impl State {
    fn stand(&mut self, page: Option<String>, standing: &str, news: &str) {
        if let Some(page) = page {
            self.page = page.into();
        }
        self.standing = event("cells", standing);
        self.news = event("cells", news);
        self.number += 1;
    }
}

/// What an open page has heard.
pub struct Listener {
    state: watch::Receiver<State>,
    number: u64,
    ticks: u64,
}

impl Listener {
    /// The next event; nothing when the board is gone. May be given up while it waits.
    pub async fn next(&mut self) -> Option<Bytes> {
        loop {
            let event = {
                let state = self.state.borrow_and_update();
                next(&state, &mut self.number, &mut self.ticks)
            };
            if event.is_some() {
                return event;
            }
            self.state.changed().await.ok()?;
        }
    }
}

fn next(state: &State, number: &mut u64, ticks: &mut u64) -> Option<Bytes> {
    if state.number != *number {
        let heard_all = *number > 0 && *number + 1 == state.number;
        *number = state.number;
        let event = if heard_all { &state.news } else { &state.standing };
        return (!event.is_empty()).then(|| event.clone());
    }
    let ticked = state.ticks != *ticks && !state.progress.is_empty();
    *ticks = state.ticks;
    ticked.then(|| state.progress.clone())
}

/// A server-sent event; the data is one line of JSON.
fn event(kind: &str, data: &str) -> Bytes {
    format!("event: {kind}\ndata: {data}\n\n").into()
}

/// For whoever opens the page while the first run goes on; it looks again by itself.
const WAITING: &str = "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta http-equiv=\"refresh\" content=\"1\">\
<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><meta name=\"color-scheme\" content=\"light dark\">\
<title>running</title></head><body><p role=\"status\">The study is running for the first time.</p></body></html>\n";

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(listener: &mut Listener) -> Option<String> {
        let state = listener.state.borrow_and_update();
        let event = next(&state, &mut listener.number, &mut listener.ticks)?;
        Some(String::from_utf8_lossy(&event).lines().nth(1)?.trim_start_matches("data: ").to_string())
    }

    #[test]
    fn a_page_that_reads_hears_all_news_and_one_that_does_not_how_things_stand() {
        let board = Board::default();
        let (mut quick, mut slow) = (board.listen(), board.listen());
        assert_eq!(heard(&mut quick), None);
        board.set("page".into(), "all 1", "new 1");
        assert_eq!(heard(&mut quick).as_deref(), Some("all 1"), "the first event is how things stand");
        board.progress("half");
        assert_eq!(heard(&mut quick).as_deref(), Some("half"));
        board.set("page".into(), "all 2", "new 2");
        assert_eq!(heard(&mut quick).as_deref(), Some("new 2"));
        assert_eq!(heard(&mut quick), None);
        assert_eq!(heard(&mut slow).as_deref(), Some("all 2"));
        assert_eq!(heard(&mut slow), None, "a run that ended makes no progress");
        board.send("trouble");
        assert_eq!(heard(&mut slow).as_deref(), Some("trouble"));
        assert_eq!(heard(&mut board.listen()).as_deref(), Some("all 2"));
    }
}
