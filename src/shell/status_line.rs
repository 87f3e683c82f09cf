//! The one line of the terminal's error stream that reports how work goes on: progress before mere waiting.
//!
//! Whoever writes anything else wipes it first. Knows nothing of what is worked on.

use super::terminal::columns;
use crate::lines::{cut_to, width_of};
use crate::quantity::with_commas;
use crate::script::context::{Progressed, Watcher};
use std::io::{IsTerminal, Write, stderr};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// What stands on the line.
struct Told {
    /// Columns that it takes; none where the line is empty.
    wide: usize,
    /// Whether somebody reports progress, which mere waiting must not overwrite.
    progress: bool,
}

static LINE: Mutex<Told> = Mutex::new(Told { wide: 0, progress: false });

fn told() -> MutexGuard<'static, Told> {
    LINE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Reports how far work is, or that it is done.
fn progress(text: Option<&str>) {
    let mut told = told();
    told.progress = text.is_some();
    write(&mut told, text.unwrap_or_default());
}

/// Shows that work goes on, unless its progress is reported.
pub fn waiting(text: &str) {
    let mut told = told();
    if !told.progress {
        write(&mut told, text);
    }
}

/// Wipes the line, so that something else can be written.
pub fn wipe() {
    write(&mut told(), "");
}

fn write(told: &mut Told, text: &str) {
    let columns = columns().max(2);
    if told.wide == 0 && text.is_empty() {
        return;
    }
    // A terminal that has become narrower has broken what stood on the line.
    let rows_above = told.wide.saturating_sub(1) / columns;
    let up = if rows_above > 0 { format!("\x1b[{rows_above}A") } else { String::new() };
    // Text in the last column would break the line.
    let text = cut_to(text, columns - 1);
    let mut out = stderr().lock();
    let _ = write!(out, "\r{up}\x1b[J{text}");
    let _ = out.flush();
    told.wide = width_of(&text);
}

/// Shows how far sweeps are; nothing where nobody can see it.
pub fn watcher() -> Option<Watcher> {
    let show = |progressed: Option<Progressed>| {
        let line = progressed.map(|found| fitted(&line(found.done, found.cases, found.spent), columns()));
        progress(line.as_deref());
    };
    stderr().is_terminal().then(|| Box::new(show) as Watcher)
}

/// Such as `12,000 of 100,000 cases, 150,000 a second, 1 s left`.
fn line(done: usize, cases: usize, spent: Duration) -> String {
    let rate = done as f64 / spent.as_secs_f64().max(1e-9);
    let left = if rate > 0.0 { (cases.saturating_sub(done)) as f64 / rate } else { f64::INFINITY };
    let left = match left {
        left if !left.is_finite() => "?".to_string(),
        left if left < 90.0 => format!("{left:.0} s"),
        left if left < 5400.0 => format!("{:.0} min", left / 60.0),
        left => format!("{:.1} h", left / 3600.0),
    };
    format!("{} of {} cases, {} a second, {left} left", with_commas(done), with_commas(cases), with_commas(rate as usize))
}

/// As many of the parts between commas as fit before the last column.
fn fitted(line: &str, columns: usize) -> String {
    let ends = line.match_indices(", ").map(|(at, _)| at).chain([line.len()]);
    let end = ends.filter(|end| *end < columns).last().unwrap_or(0);
    line[..end].to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_tells_rate_and_time_left() {
        let text = line(12_000, 100_000, Duration::from_secs(2));
        assert_eq!(text, "12,000 of 100,000 cases, 6,000 a second, 15 s left");
        assert_eq!(line(0, 1_000, Duration::from_secs(2)), "0 of 1,000 cases, 0 a second, ? left");
        assert!(line(1_000, 10_000_000, Duration::from_secs(1)).ends_with("2.8 h left"));
    }

    #[test]
    fn a_narrow_terminal_gets_the_first_parts_of_the_line() {
        let text = line(12_000, 100_000, Duration::from_secs(2));
        assert_eq!(fitted(&text, 80), text);
        assert_eq!(fitted(&text, 50), "12,000 of 100,000 cases, 6,000 a second");
        assert_eq!(fitted(&text, 30), "12,000 of 100,000 cases");
        assert_eq!(fitted(&text, 10), "");
    }
}
