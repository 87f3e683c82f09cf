//! Why a figure cannot be drawn, and what to do about it.

use crate::limits::Ended;
use crate::told::Told;
use thiserror::Error;

/// Why a figure cannot be drawn.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum FigureError {
    /// There is no value, or none that is a finite number on its axis.
    #[error("there is nothing to draw: {}", nothing(*.values))]
    NothingToDraw {
        /// How many values there are, missing ones too.
        values: usize,
    },
    /// A figure is too small to be read, or too large to be drawn.
    #[error("a figure of {width} by {height} pixels cannot be drawn; expected {least} to {most} each way")]
    Size {
        /// Width that was asked for, pixels.
        width: u32,
        /// Height that was asked for, pixels.
        height: u32,
        /// The least both ways, pixels.
        least: u32,
        /// The most both ways, pixels.
        most: u32,
    },
    /// The ends of an axis are the wrong way round, not finite, or too near each other.
    #[error("the range of the axis '{axis}' goes from {low} to {high}; expected a lower and a clearly higher number")]
    Range {
        /// Label of the axis.
        axis: String,
        /// The lower end that was given, in the unit of the axis.
        low: f64,
        /// The upper end that was given, in the unit of the axis.
        high: f64,
    },
    /// A logarithmic axis was to start at zero or below.
    #[error("the logarithmic axis '{axis}' cannot start at {low}; expected a number above zero")]
    LogRange {
        /// Label of the axis.
        axis: String,
        /// The lower end that was given, in the unit of the axis.
        low: f64,
    },
    /// No value can stand on a logarithmic axis.
    #[error("the logarithmic axis '{axis}' has no values: all are zero or below")]
    NothingAboveZero {
        /// Label of the axis.
        axis: String,
    },
    /// Bars were to stand on a logarithmic axis.
    #[error("bars need an axis with zero; a logarithmic axis has none")]
    LogBars,
    /// A series of bars has not one value for each name.
    #[error("the bars '{series}' have {found} values for {expected} names")]
    BarCount {
        /// Name of the series.
        series: String,
        /// How many names there are.
        expected: usize,
        /// How many values it has.
        found: usize,
    },
    /// There are more series than colors and strokes can distinguish.
    #[error("{found} series are too many; the maximum is {most}")]
    TooManySeries {
        /// How many there are.
        found: usize,
        /// How many can be distinguished.
        most: usize,
    },
    /// There are more bars than can be read.
    #[error("{found} bars are too many; the maximum is {most}")]
    TooManyBars {
        /// How many there are.
        found: usize,
        /// How many can be read.
        most: usize,
    },
    /// There are more rows of boxes, bars or bands than can be read.
    #[error("{found} rows are too many; the maximum is {most}")]
    TooManyRows {
        /// How many there are.
        found: usize,
        /// How many can be read.
        most: usize,
    },
    /// There are more figures on one sheet than can be read.
    #[error("{found} panels are too many; the maximum is {most}")]
    TooManyPanels {
        /// How many there are.
        found: usize,
        /// How many can be read.
        most: usize,
    },
    /// A picture was to have no pixels for one of the figure, or very many.
    #[error("a pixel ratio of {found} cannot be drawn; expected 1 to {most}")]
    PixelRatio {
        /// Pixels each way for one of the figure.
        found: u32,
        /// The most.
        most: u32,
    },
    /// A mark is not finite, or not above zero on a logarithmic axis.
    #[error("the mark '{label}' is at {at}, which cannot be shown on its axis")]
    MarkValue {
        /// Label of the mark.
        label: String,
        /// Its value, in the unit of its axis.
        at: f64,
    },
    /// A mark is on an axis that has names and no numbers.
    #[error("the mark '{label}' is on the axis of the bars' names, which has no numbers")]
    MarkOnNames {
        /// Label of the mark.
        label: String,
    },
    /// A heat map has a single row or column of values.
    #[error("a heat map needs a grid of at least two by two values, found {columns} by {rows}")]
    SmallField {
        /// How many values there are along x.
        columns: usize,
        /// How many values there are along y.
        rows: usize,
    },
    /// A picture would have too many pixels for the memory it takes.
    #[error("{width} by {height} pixels are too many for a picture")]
    LargePicture {
        /// Its width, pixels.
        width: u32,
        /// Its height, pixels.
        height: u32,
    },
    /// The pixels could not be written as a PNG.
    #[error("the picture could not be encoded: {reason}")]
    Picture {
        /// What the library said.
        reason: String,
    },
    /// Somebody or a limit stopped it.
    #[error(transparent)]
    Ended(#[from] Ended),
}

impl Told for FigureError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            FigureError::NothingToDraw { values: 0 } => "give at least one series with one point; is the table empty?".into(),
            FigureError::NothingToDraw { .. } => "check the table: every value of the column is missing".into(),
            FigureError::Size { .. } => "leave the size out, or give one such as 760 by 480".into(),
            FigureError::Range { .. } => "leave the range out, or write the lower end first".into(),
            FigureError::LogRange { .. } | FigureError::NothingAboveZero { .. } => "use a linear axis".into(),
            FigureError::LogBars => "use a linear axis, or draw points".into(),
            FigureError::BarCount { .. } => "give each name one value, or a missing value".into(),
            FigureError::TooManySeries { .. } => "keep fewer rows, or split the figure by another column".into(),
            FigureError::TooManyBars { .. } => "keep fewer rows, or draw a line".into(),
            FigureError::TooManyRows { .. } => "keep fewer rows, or draw a histogram".into(),
            FigureError::TooManyPanels { .. } => "keep fewer values of the column, or draw one panel for a few of them".into(),
            FigureError::PixelRatio { .. } => "leave it out, or write .pixel_ratio(2) for a sharp screen".into(),
            FigureError::MarkValue { .. } => "marks need plain numbers, above zero on a logarithmic axis".into(),
            FigureError::MarkOnNames { .. } => "put the mark on the axis of the values".into(),
            FigureError::SmallField { .. } => "vary both parameters in steps, so that each pair has a row".into(),
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
