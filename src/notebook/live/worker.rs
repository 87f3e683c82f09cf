//! The one thread that runs the study, and the one that watches its files.

use super::board::Board;
use super::ticker::{Interim, Ticker};
use crate::files::read_text;
use crate::notebook::Moment;
use crate::notebook::page::{self, Use};
use crate::notebook::workbook::{Watching, Workbook};
use crate::script::Context;
use crate::script::sizes::STACK_BYTES;
use serde_json::json;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

/// How often the files are looked at.
const LOOK_EVERY: Duration = Duration::from_millis(80);

/// The time that drawing what is done may take in any run, beside its share.
const DRAWING: Duration = Duration::from_millis(12);

/// What somebody asks of the worker.
#[derive(Clone, Debug, PartialEq)]
pub enum Wish {
    /// A slider was moved; the value is in the slider's unit.
    Slide { name: String, value: f64 },
}

type Stamp = Option<(SystemTime, u64)>;

/// Starts both threads. Errors: the machine gives no thread.
pub fn start(file: PathBuf, context: Arc<Context>, board: Arc<Board>, wishes: Receiver<Wish>) -> io::Result<()> {
    let running = Arc::new(Running { text: Mutex::new(None), stop: context.stop.clone() });
    let (watched, text) = (running.clone(), file.clone());
    std::thread::Builder::new().spawn(move || watch(&text, &watched))?;
    let name = file.file_name().map_or_else(|| "study".into(), |name| name.to_string_lossy().into_owned());
    std::thread::Builder::new().stack_size(STACK_BYTES).spawn(move || {
        let book = Workbook::new(&name, context);
        Worker { book, file, board, running, seen: None, views: Vec::new() }.work(&wishes);
    })?;
    Ok(())
}

/// Which text is run at the moment.
struct Running {
    text: Mutex<Option<Stamp>>,
    stop: Arc<AtomicBool>,
}

impl Running {
    /// A run begins with a text, or ends. What was asked of the one before counts no more.
    fn set(&self, text: Option<Stamp>) {
        *self.text.lock().unwrap_or_else(PoisonError::into_inner) = text;
        self.stop.store(false, Ordering::SeqCst);
    }

    /// Stops a run whose text is no longer what is on the disk.
    fn compare(&self, now: Stamp) {
        let text = self.text.lock().unwrap_or_else(PoisonError::into_inner);
        if now.is_some() && text.is_some_and(|text| text != now) {
            self.stop.store(true, Ordering::SeqCst);
        }
    }
}

fn watch(file: &Path, running: &Running) {
    loop {
        std::thread::sleep(LOOK_EVERY);
        running.compare(stamp(file));
    }
}

fn stamp(file: &Path) -> Stamp {
    let data = std::fs::metadata(file).ok()?;
    Some((data.modified().ok()?, data.len()))
}

struct Worker {
    book: Workbook,
    file: PathBuf,
    board: Arc<Board>,
    running: Arc<Running>,
    seen: Stamp,
    views: Vec<page::CellView>,
}

impl Worker {
    fn work(mut self, wishes: &Receiver<Wish>) {
        loop {
            let now = stamp(&self.file);
            if now.is_some() && (now != self.seen || self.book.files_changed()) {
                self.seen = now;
                self.read_again();
            }
            match wishes.recv_timeout(LOOK_EVERY) {
                Ok(wish) => self.fulfil(wish, wishes),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    fn read_again(&mut self) {
        let Ok(source) = read_text(&self.file) else {
            let state = json!({ "cells": null, "run": self.book.runs(), "state": "the file cannot be read", "trouble": true, "note": "", "title": self.book.name() });
            return self.board.send(&state.to_string());
        };
        self.run(|book, progress| book.renew(&source, progress));
    }

    /// Moves sliders; of many moves of one slider only the last counts.
    fn fulfil(&mut self, first: Wish, wishes: &Receiver<Wish>) {
        let mut moves = BTreeMap::new();
        for Wish::Slide { name, value } in std::iter::once(first).chain(wishes.try_iter()) {
            moves.insert(name, value);
        }
        for (name, value) in moves {
            let mut sliders = self.book.statements().iter().flat_map(|statement| &statement.result.sliders);
            let Some(si) = sliders.find(|slider| slider.name == name).map(|slider| page::slider_si(slider, value)) else {
                continue;
            };
            self.run(|book, progress| {
                book.slide(&name, si, progress);
            });
        }
    }

    /// Runs, and shows meanwhile which cells are done; drawing them takes no more than a third of the time,
    /// and a moment.
    fn run(&mut self, work: impl FnOnce(&mut Workbook, &mut Watching)) {
        self.running.set(Some(self.seen));
        let start = Instant::now();
        let mut drawing = Duration::ZERO;
        let ticker = Ticker::start(self.board.clone());
        work(&mut self.book, &mut |book, done, total| {
            ticker.note(done, total);
            if done == 0 || done == total || drawing > DRAWING + start.elapsed() / 3 {
                return;
            }
            let began = Instant::now();
            let views = page::views(book, Use::Live);
            let news = json!({ "cells": views, "run": book.runs(), "state": format!("running {done} of {total}"), "trouble": false,
                "note": "", "partial": true, "title": page::title(&views, book.name()) });
            let page = self.board.is_blank().then(|| page::page(book, Use::Live, &Moment::now()));
            ticker.show(Interim { page, news: news.to_string() });
            drawing += began.elapsed();
        });
        if ticker.end() {
            self.views.clear(); // Open pages show something in between.
        }
        self.running.set(None);
        self.publish(start.elapsed());
    }

    fn publish(&mut self, took: Duration) {
        let views = page::views(&self.book, Use::Live);
        let errors = self.book.statements().iter().filter(|statement| statement.result.error.is_some()).count();
        let state = match errors {
            0 => "up to date".to_string(),
            1 => "one statement failed".to_string(),
            more => format!("{more} statements failed"),
        };
        let news = |cells: Option<&[page::CellView]>| {
            json!({ "cells": cells, "run": self.book.runs(), "state": state, "trouble": errors > 0, "note": self.note(took),
                "title": page::title(&views, self.book.name()), "cautions": page::cautions_html(&self.book) })
            .to_string()
        };
        let changed = views != self.views;
        let standing = news(Some(&views));
        let told = if changed { standing.clone() } else { news(None) };
        self.board.set(page::page(&self.book, Use::Live, &Moment::now()), &standing, &told);
        self.views = views;
    }

    /// Which statements the last run ran.
    fn note(&self, took: Duration) -> String {
        let lines: Vec<String> = self
            .book
            .statements()
            .iter()
            .filter(|statement| statement.run == self.book.runs())
            .map(|statement| statement.lines.0.to_string())
            .collect();
        let all = self.book.statements().len();
        let time = format!("{:.0} ms", took.as_secs_f64() * 1000.0);
        match lines.len() {
            0 => "no statement had to run again".into(),
            1 if all == 1 => format!("ran the statement in {time}"),
            n if n == all => format!("ran all {n} statements in {time}"),
            1 => format!("ran 1 of {all} statements, line {}, in {time}", lines[0]),
            n if n <= 6 => format!("ran {n} of {all} statements, lines {}, in {time}", lines.join(", ")),
            n => format!("ran {n} of {all} statements in {time}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_run_of_another_text_than_that_on_the_disk_is_stopped() {
        let running = Running { text: Mutex::new(None), stop: Arc::default() };
        let (old, new) = (Some((SystemTime::UNIX_EPOCH, 1)), Some((SystemTime::UNIX_EPOCH, 2)));
        let stopped = || running.stop.load(Ordering::SeqCst);
        running.compare(new);
        assert!(!stopped(), "nothing runs");
        running.set(Some(new));
        running.compare(new);
        assert!(!stopped(), "it runs what is on the disk");
        running.compare(None);
        assert!(!stopped(), "a file that is being replaced");
        running.set(Some(old));
        running.compare(new);
        assert!(stopped());
        running.set(None);
        assert!(!stopped());
    }
}
