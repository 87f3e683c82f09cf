//! Why a figure cannot be drawn, and what to do about it.

use crate::limits::Ended;
use crate::told::Told;
use thiserror::Error;

/// Why a figure cannot be drawn.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum FigureError {
    #[error("there is nothing to draw: {}", nothing(*.values))]
    NothingToDraw { values: usize },
    #[error("a figure of {width} by {height} pixels cannot be drawn; expected {least} to {most} each way")]
    Size { width: u32, height: u32, least: u32, most: u32 },
    #[error("the range of the axis '{axis}' goes from {low} to {high}; expected a lower and a clearly higher number")]
    Range { axis: String, low: f64, high: f64 },
    #[error("the logarithmic axis '{axis}' cannot start at {low}; expected a number above zero")]
    LogRange { axis: String, low: f64 },
    #[error("the logarithmic axis '{axis}' has nothing to show: all of its values are zero or below")]
    NothingAboveZero { axis: String },
    #[error("bars cannot stand on a logarithmic axis, which has no zero for them to start from")]
    LogBars,
    #[error("the bars '{series}' have {found} values for {expected} names")]
    BarCount { series: String, expected: usize, found: usize },
    #[error("{found} series are more than can be told apart; expected {most} at most")]
    TooManySeries { found: usize, most: usize },
    #[error("{found} bars are more than can be read; expected {most} at most")]
    TooManyBars { found: usize, most: usize },
    #[error("{found} rows are more than can be read; expected {most} at most")]
    TooManyRows { found: usize, most: usize },
    #[error("the mark '{label}' is at {at}, which cannot be shown on its axis")]
    MarkValue { label: String, at: f64 },
    #[error("the mark '{label}' is on the axis of the bars' names, which has no numbers")]
    MarkOnNames { label: String },
    #[error("a heat map needs a grid of at least two by two values, found {columns} by {rows}")]
    SmallField { columns: usize, rows: usize },
    #[error("{width} by {height} pixels are too many for a picture")]
    LargePicture { width: u32, height: u32 },
    #[error("the picture could not be encoded: {reason}")]
    Picture { reason: String },
    #[error(transparent)]
    Ended(#[from] Ended),
}

impl Told for FigureError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            FigureError::NothingToDraw { values: 0 } => "give at least one series with one point; is the table empty?".into(),
            FigureError::NothingToDraw { .. } => "look at the table: every value of the column is missing".into(),
            FigureError::Size { .. } => "leave the size out, or give one such as 760 by 480".into(),
            FigureError::Range { .. } => "leave the range out, or write the lower end first".into(),
            FigureError::LogRange { .. } | FigureError::NothingAboveZero { .. } => "use a linear axis".into(),
            FigureError::LogBars => "use a linear axis, or draw points".into(),
            FigureError::BarCount { .. } => "give each name one value, or a missing value".into(),
            FigureError::TooManySeries { .. } => "keep fewer rows, or split the figure by another column".into(),
            FigureError::TooManyBars { .. } => "keep fewer rows, or draw a line".into(),
            FigureError::TooManyRows { .. } => "keep fewer rows, or draw a histogram".into(),
            FigureError::MarkValue { .. } => "marks stand at plain numbers, above zero on a logarithmic axis".into(),
            FigureError::MarkOnNames { .. } => "put the mark on the axis of the values".into(),
            FigureError::SmallField { .. } => "vary both numbers in steps, so that each pair of them has a row".into(),
            FigureError::Ended(_) => return None,
            FigureError::LargePicture { .. } => "save it as .svg".into(),
            FigureError::Picture { .. } => "save as .svg, or check that the folder for temporary files has room".into(),
        })
    }

    fn about(&self) -> Option<String> {
        Some("chart".into())
    }
}

fn nothing(values: usize) -> String {
    match values {
        0 => "the figure has no values".into(),
        1 => "its one value is missing or not a number".into(),
        n => format!("all {n} values are missing or not numbers"),
    }
}
