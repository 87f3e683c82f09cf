//! What the terminal of the error stream is: its colors, its columns, and the line of progress on it.

use crate::quantity::with_commas;
use crate::script::context::{Progressed, Watcher};
use crate::script::diagnostic::Color;
use crate::script::place::USUAL_WIDTH;
use std::io::{IsTerminal, Write, stderr};
use std::time::Duration;

/// Wipes a line of progress.
pub const WIPE: &str = "\r\x1b[2K";

/// Whether the error stream takes colors: it is a terminal and nobody forbade them (`NO_COLOR`).
pub fn color() -> Color {
    match anstream::AutoStream::choice(&stderr()) {
        anstream::ColorChoice::Never => Color::No,
        _ => Color::Yes,
    }
}

/// Columns of the error stream; the usual ones where no terminal says.
pub fn columns() -> usize {
    terminal_size::terminal_size_of(stderr()).map_or(USUAL_WIDTH, |(width, _)| usize::from(width.0))
}

/// Shows how far sweeps are; nothing where nobody can see it.
pub fn watcher() -> Option<Watcher> {
    let show = |progressed: Option<Progressed>| {
        // A line that is broken by the edge of the terminal could not be wiped.
        let line = progressed.map_or(String::new(), |found| fitted(&line(found.done, found.cases, found.spent), columns()));
        let _ = write!(stderr(), "{WIPE}{line}");
        let _ = stderr().flush();
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
