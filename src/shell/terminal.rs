//! What the terminal is: its colors and its columns.

use crate::script::diagnostic::Color;
use crate::script::place::USUAL_WIDTH;
use std::io::{stderr, stdout};

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

/// Columns of the standard output: those that the variable `COLUMNS` asks for, else those of its terminal; none without either.
pub fn columns_of_output() -> Option<usize> {
    let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok()).filter(|columns| *columns > 0);
    asked.or_else(columns_of_screen)
}

/// Columns of the terminal of the standard output.
pub fn columns_of_screen() -> Option<usize> {
    terminal_size::terminal_size_of(stdout()).map(|(width, _)| usize::from(width.0))
}
