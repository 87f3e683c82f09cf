//! What the worker sends to all open pages, and the current state for those that open later.
//!
//! Only the newest is kept: a page that reads slowly misses what lay between, and is brought to the current state. What nobody
//! asks for is not written.

use crate::notebook::page::{CellNews, CellView, Page};
use crate::script::controls::Control;
use hyper::body::Bytes;
use serde_json::{Value, json};
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::timeout;

/// How long a page that opens waits for the first run to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// The board.
pub struct Board {
    state: watch::Sender<State>,
}

/// What is said of a state in words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// How the study is.
    pub state: String,
    /// True when something is wrong.
    pub trouble: bool,
    /// What ran.
    pub note: String,
    /// True while the run goes on.
    pub partial: bool,
}

/// How things stand.
#[derive(Debug)]
struct Standing {
    /// Counts how things stood.
    number: u64,
    page: Page,
    said: Said,
    /// The controls as the study has them.
    controls: Vec<Control>,
    /// The page as text.
    text: OnceLock<Bytes>,
    /// The event that brings an open page to this state.
    event: OnceLock<Bytes>,
}

#[derive(Default)]
struct State {
    standing: Option<Arc<Standing>>,
    /// The event that brings a page to the current state that heard all those before.
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
        let waited = timeout(PATIENCE, seen.wait_for(|state| state.standing.is_some())).await;
        let standing = waited.ok().and_then(Result::ok).and_then(|state| state.standing.clone());
        standing.map_or_else(|| Bytes::from_static(WAITING.as_bytes()), |standing| standing.text())
    }

    /// Events from now on, the first of them the current state.
    pub fn listen(&self) -> Listener {
        Listener { state: self.state.subscribe(), number: 0, ticks: self.state.borrow().ticks }
    }

    /// The controls of the study as it last ran.
    pub fn controls(&self) -> Vec<Control> {
        self.state.borrow().standing.as_ref().map_or_else(Vec::new, |standing| standing.controls.clone())
    }

    /// A table of the page as CSV, by the name of its file; nothing where there is none.
    pub fn csv(&self, file: &str) -> Option<String> {
        let standing = self.state.borrow().standing.clone();
        standing.and_then(|standing| standing.page.csv(file))
    }

    /// Sets the state and sends it: to pages that heard all before, only what changed.
    pub fn stand(&self, page: Page, controls: Vec<Control>, said: Said) {
        self.state.send_modify(|state| {
            if !said.partial {
                state.progress = Bytes::new();
            }
            let before = state.standing.as_deref();
            let number = before.map_or(1, |before| before.number + 1);
            let standing = Standing { number, page, said, controls, text: OnceLock::new(), event: OnceLock::new() };
            state.news = event("cells", &news(&standing, before).to_string());
            state.standing = Some(Arc::new(standing));
            state.number += 1;
        });
    }

    /// Says something to the pages that are open, which does not change the state.
    pub fn say(&self, said: &Said) {
        self.state.send_modify(|state| {
            state.news = event("cells", &in_words(said).to_string());
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

impl Standing {
    fn text(&self) -> Bytes {
        self.text.get_or_init(|| self.page.write().into()).clone()
    }

    fn event(&self) -> Bytes {
        self.event.get_or_init(|| event("cells", &news(self, None).to_string())).clone()
    }
}

fn in_words(said: &Said) -> Value {
    json!({ "state": said.state, "trouble": said.trouble, "note": said.note, "partial": said.partial })
}

/// What an open page hears: all of a page, or what differs from how things stood before; null stands for what is the same.
///
/// `standing` is the number of how things stand, and `after` that from which it differs: a page that does not show that one asks again.
fn news(standing: &Standing, before: Option<&Standing>) -> Value {
    let (page, known) = (&standing.page, before.map(|before| &before.page));
    let news_of = |(index, view): (usize, &'_ Arc<CellView>)| {
        let known = known.and_then(|known| known.views.get(index));
        if known.is_some_and(|known| Arc::ptr_eq(known, view)) {
            return Value::Null;
        }
        json!(CellNews::of(view, known.map(Arc::as_ref)))
    };
    let unless_same = |one: fn(&Page) -> &str| known.is_none_or(|known| one(known) != one(page)).then(|| one(page));
    let mut news = in_words(&standing.said);
    news["standing"] = json!(standing.number);
    news["after"] = json!(before.map(|before| before.number));
    news["cells"] = page.views.iter().enumerate().map(news_of).collect();
    news["run"] = json!(page.run);
    news["title"] = json!(page.title);
    news["study"] = json!(page.study);
    news["heading"] = json!(unless_same(|page| &page.heading));
    news["fonts"] = json!(unless_same(|page| &page.fonts));
    news["results"] = json!(unless_same(|page| &page.results));
    news["footer"] = json!(unless_same(|page| &page.footer));
    let other_controls = known.is_none_or(|known| known.panel.key != page.panel.key);
    news["controls"] = json!({
        "key": other_controls.then_some(&page.panel.key),
        "markup": other_controls.then_some(&page.panel.markup),
        "standing": page.panel.standing,
    });
    news
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
        return match &state.standing {
            _ if heard_all => Some(state.news.clone()),
            Some(standing) => Some(standing.event()),
            None => None,
        };
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
    use crate::files::Folder;
    use crate::notebook::Moment;
    use crate::notebook::page::{CodeShown, Use};
    use crate::notebook::workbook::Workbook;
    use crate::script::Context;

    /// What a page hears next: its words, and which cells it gets.
    fn heard(listener: &mut Listener) -> Option<(String, Vec<bool>)> {
        let state = listener.state.borrow_and_update();
        let event = next(&state, &mut listener.number, &mut listener.ticks)?;
        let text = String::from_utf8_lossy(&event).into_owned();
        let data: Value = serde_json::from_str(text.lines().nth(1)?.trim_start_matches("data: ")).ok()?;
        let cells = data["cells"].as_array().map_or_else(Vec::new, |cells| cells.iter().map(|cell| !cell.is_null()).collect());
        Some((data["state"].as_str().unwrap_or("progress").to_string(), cells))
    }

    fn page(source: &str) -> Page {
        let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
        book.renew(source, &mut |_, _, _| {});
        Page::of(&book, Use::Live, CodeShown::Open, &Moment::now(), &[])
    }

    fn said(state: &str) -> Said {
        Said { state: state.into(), ..Said::default() }
    }

    /// The numbers of what a page hears next: how things stand, and from what that differs.
    fn numbers(listener: &mut Listener) -> Option<(Option<u64>, Option<u64>)> {
        let state = listener.state.borrow_and_update();
        let event = next(&state, &mut listener.number, &mut listener.ticks)?;
        let text = String::from_utf8_lossy(&event).into_owned();
        let data: Value = serde_json::from_str(text.lines().nth(1)?.trim_start_matches("data: ")).ok()?;
        Some((data["standing"].as_u64(), data["after"].as_u64()))
    }

    #[test]
    fn what_differs_says_from_what() {
        let board = Board::default();
        let (mut quick, mut slow) = (board.listen(), board.listen());
        board.stand(page("1;"), Vec::new(), said("one"));
        assert_eq!(numbers(&mut quick), Some((Some(1), None)), "the first is whole");
        board.say(&said("trouble"));
        assert_eq!(numbers(&mut quick), Some((None, None)), "words change nothing");
        board.stand(page("2;"), Vec::new(), said("two"));
        assert_eq!(numbers(&mut quick), Some((Some(2), Some(1))));
        board.stand(page("3;"), Vec::new(), said("three"));
        board.stand(page("4;"), Vec::new(), said("four"));
        assert_eq!(numbers(&mut quick), Some((Some(4), None)), "one was missed: all of it comes");
        assert_eq!(numbers(&mut slow), Some((Some(4), None)));
        assert_eq!(numbers(&mut board.listen()), Some((Some(4), None)), "a page that is loaded again");
    }

    #[test]
    fn a_page_that_reads_hears_what_changed_and_one_that_does_not_how_things_stand() {
        let board = Board::default();
        let (mut quick, mut slow) = (board.listen(), board.listen());
        assert_eq!(heard(&mut quick), None);
        board.stand(page("1;\n// b\n2;"), Vec::new(), said("one"));
        assert_eq!(heard(&mut quick), Some(("one".into(), vec![true, true])), "the first event is how things stand");
        board.progress("{}");
        assert_eq!(heard(&mut quick), Some(("progress".into(), vec![])));
        board.stand(page("1;\n// b\n3;"), Vec::new(), said("two"));
        assert_eq!(heard(&mut quick), Some(("two".into(), vec![false, true])));
        assert_eq!(heard(&mut quick), None);
        assert_eq!(heard(&mut slow), Some(("two".into(), vec![true, true])));
        assert_eq!(heard(&mut slow), None, "a run that ended makes no progress");
        board.say(&said("trouble"));
        assert_eq!(heard(&mut slow), Some(("trouble".into(), vec![])));
        assert_eq!(heard(&mut board.listen()), Some(("two".into(), vec![true, true])));
    }
}
