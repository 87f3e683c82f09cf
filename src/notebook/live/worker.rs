//! The one thread that runs the study, and the one that watches its files.

use super::board::{Board, Said};
use super::ticker::{Interim, Progress, Ticker};
use super::wishes::{Stamp, Wish, Wishes};
use crate::files::read_text;
use crate::notebook::Moment;
use crate::notebook::page::panel::setting_of;
use crate::notebook::page::{CellView, CodeShown, Page, Use, first_lines};
use crate::notebook::workbook::{Watching, Workbook};
use crate::script::Context;
use crate::script::controls::Control;
use crate::script::sizes::STACK_BYTES;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// How often the files of the study are looked at.
const LOOK_EVERY: Duration = Duration::from_millis(80);
/// How often a run is compared with what is asked for.
const COMPARE_EVERY: Duration = Duration::from_millis(40);

/// The time that drawing what is done may take in any run, beside its share.
const DRAWING: Duration = Duration::from_millis(12);

/// Starts both threads; what pages ask for goes through the answer. Errors: the machine gives no thread.
pub fn start(file: PathBuf, context: Arc<Context>, board: Arc<Board>) -> io::Result<Arc<Wishes>> {
    let name = file.file_name().map_or_else(|| "study".into(), |name| name.to_string_lossy().into_owned());
    let (superseded, stop) = (Arc::default(), context.stop.clone());
    let wishes = Arc::new(Wishes::new(Arc::clone(&superseded), stop));
    let (watched, text) = (wishes.clone(), file.clone());
    std::thread::Builder::new().spawn(move || watch(&text, &watched))?;
    let asked = wishes.clone();
    std::thread::Builder::new().stack_size(STACK_BYTES).spawn(move || {
        let book = Workbook::new(&name, context).superseded_by(superseded);
        Worker { book, file, board, wishes: asked, seen: None, views: Vec::new() }.work();
    })?;
    Ok(wishes)
}

fn watch(file: &Path, wishes: &Wishes) {
    loop {
        std::thread::sleep(COMPARE_EVERY);
        wishes.compare(stamp(file));
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
    wishes: Arc<Wishes>,
    seen: Stamp,
    views: Vec<Arc<CellView>>,
}

impl Worker {
    fn work(mut self) {
        loop {
            let now = stamp(&self.file);
            if now.is_some() && (now != self.seen || self.book.files_changed()) {
                self.seen = now;
                self.read_again();
            }
            // What a run that was ended left over waits for nobody.
            let patience = if self.book.is_stale() { Duration::ZERO } else { LOOK_EVERY };
            let wish = self.wishes.take(patience);
            if wish.is_some() || self.book.is_stale() {
                self.fulfil(wish.unwrap_or_default());
            }
        }
    }

    fn read_again(&mut self) {
        let Ok(source) = read_text(&self.file) else {
            let state = "the file cannot be read".to_string();
            return self.board.say(&Said { state, trouble: true, ..Said::default() });
        };
        self.run(|book, progress| book.renew(&source, progress));
    }

    /// Sets controls, and runs what depends on them and what was left over.
    fn fulfil(&mut self, wish: Wish) {
        let setting = |(name, value): (String, Option<f64>)| {
            let control = self.book.controls().into_iter().find(|control| control.name == name)?;
            let setting = value.map(|value| setting_of(control, value));
            Some((name, setting))
        };
        let settings: Vec<(String, Option<f64>)> = wish.values.into_iter().filter_map(setting).collect();
        if wish.held == Some(true) {
            self.book.hold(true);
        }
        if !settings.is_empty() || self.book.is_stale() {
            self.run(|book, progress| {
                book.set_controls(&settings, progress);
            });
        }
        if wish.held == Some(false) && self.book.hold(false) {
            self.run(Workbook::draw_again);
        }
    }

    /// Runs, and shows meanwhile which cells are done; drawing them takes no more than a third of the time,
    /// and a moment.
    fn run(&mut self, work: impl FnOnce(&mut Workbook, &mut Watching)) {
        self.wishes.begin(self.seen);
        let start = Instant::now();
        let mut drawing = Duration::ZERO;
        let mut first_lines_of_cells: Vec<usize> = Vec::new();
        let ticker = Ticker::start(self.board.clone());
        let views = &mut self.views;
        work(&mut self.book, &mut |book, done, total| {
            if done == 0 {
                first_lines_of_cells = first_lines(book.source());
            }
            ticker.note(Progress { done, total, waiting: waiting(book, &first_lines_of_cells) });
            if done == 0 || done == total || drawing > DRAWING + start.elapsed() / 3 {
                return;
            }
            let began = Instant::now();
            let page = Page::of(book, Use::Live, CodeShown::Open, &Moment::now(), views);
            views.clone_from(&page.views);
            let said = Said { state: format!("running {done} of {total}"), partial: true, ..Said::default() };
            ticker.show(Interim { page, controls: controls(book), said });
            drawing += began.elapsed();
        });
        ticker.end();
        self.wishes.end();
        if !self.book.is_stale() {
            self.publish(start.elapsed());
        }
    }

    fn publish(&mut self, took: Duration) {
        let page = Page::of(&self.book, Use::Live, CodeShown::Open, &Moment::now(), &self.views);
        self.views.clone_from(&page.views);
        let errors = self.book.statements().iter().filter(|statement| statement.result.error.is_some()).count();
        let state = match errors {
            0 => "up to date".to_string(),
            1 => "one statement failed".to_string(),
            more => format!("{more} statements failed"),
        };
        let said = Said { state, trouble: errors > 0, note: self.note(took), partial: false };
        self.board.stand(page, controls(&self.book), said);
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

fn controls(book: &Workbook) -> Vec<Control> {
    book.controls().into_iter().cloned().collect()
}

/// The cells with statements that are to run again, by the first lines of all cells.
fn waiting(book: &Workbook, first_lines: &[usize]) -> Vec<usize> {
    let stale = book.statements().iter().filter(|statement| statement.stale);
    let mut cells: Vec<usize> =
        stale.map(|statement| first_lines.partition_point(|line| *line <= statement.lines.0).saturating_sub(1)).collect();
    cells.dedup();
    cells
}
