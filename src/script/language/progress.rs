//! How far a long sweep is, on a terminal: cases done, cases a second, time left.
//!
//! It writes to the error stream, and only when somebody can see it and the work takes over a second.

use super::context::Context;
use std::cell::Cell;
use std::io::{IsTerminal, Write, stderr};
use std::time::{Duration, Instant};

/// The progress of one sweep; the line is wiped when it ends.
pub struct Progress {
    cases: usize,
    began: Instant,
    last: Cell<Option<Instant>>,
    seen: bool,
}

const FIRST: Duration = Duration::from_secs(1);
const EVERY: Duration = Duration::from_millis(200);

impl Progress {
    /// Begins to watch a sweep of so many cases; inside another sweep it stays silent.
    pub fn new(context: &Context, cases: usize) -> Progress {
        Progress {
            cases,
            began: Instant::now(),
            last: Cell::new(None),
            seen: context.threads() != Some(1) && stderr().is_terminal(),
        }
    }

    /// The number of all cases.
    pub fn cases(&self) -> usize {
        self.cases
    }

    /// Tells how many cases are done.
    pub fn tell(&self, done: usize) {
        let now = Instant::now();
        let due = self.last.get().is_none_or(|last| now - last >= EVERY);
        if !self.seen || now - self.began < FIRST || !due {
            return;
        }
        self.last.set(Some(now));
        // A line that is broken by the edge of the terminal could not be wiped.
        let columns = terminal_size::terminal_size_of(stderr()).map_or(80, |(width, _)| usize::from(width.0));
        let line = fitted(&line(done, self.cases, now - self.began), columns);
        let _ = write!(stderr(), "\r\x1b[2K{line}");
        let _ = stderr().flush();
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.last.get().is_some() {
            let _ = write!(stderr(), "\r\x1b[2K");
            let _ = stderr().flush();
        }
    }
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

/// A whole number with commas between its thousands.
pub fn with_commas(n: usize) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
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
