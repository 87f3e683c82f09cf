//! Why a chart cannot be drawn, and what to do about it.

use crate::figure::FigureError;
use crate::limits::Ended;
use crate::quantity::{Dimension, Quantity};
use crate::table::TableError;
use crate::told::Told;
use thiserror::Error;

/// Why a chart cannot be drawn.
#[derive(Debug, Error)]
pub enum ChartError {
    #[error(transparent)]
    Table(#[from] TableError),
    #[error(transparent)]
    Figure(#[from] FigureError),
    #[error(transparent)]
    Ended(#[from] Ended),
    #[error("the chart does not know what stands on its {axis} axis")]
    NoColumn { axis: &'static str, names: Vec<String> },
    #[error("the column '{name}' holds texts; lines need numbers along x")]
    TextsAlongX { name: String },
    #[error("the column '{name}' holds no numbers")]
    NoNumbers { name: String },
    #[error("the column '{name}' holds no numbers and cannot stand on the y axis")]
    NoNumbersOnY { name: String },
    #[error("'{first}' and '{other}' are of different dimensions and cannot share the y axis")]
    Unlike { first: String, other: String },
    #[error("mark: {} fits neither axis: x is {}, y is {}", value.described(), in_words(*x), in_words(*y))]
    MarkOnNoAxis { value: Quantity, x: Option<Dimension>, y: Option<Dimension> },
    #[error("mark: {} does not fit the values of the chart", value.described())]
    MarkUnlikeValues { value: Quantity },
    #[error("mark: {} does not fit the colours of the chart", value.described())]
    MarkUnlikeColours { value: Quantity },
    #[error("bands: {} is not on the axis of '{x}'", start.described())]
    BandUnlike { start: Quantity, x: String },
    #[error("names_from: {found} points are too many to name")]
    TooManyNames { found: usize, most: usize },
    #[error("a tornado needs two columns on y: the value when each number is low and when it is high")]
    NotTwoColumns,
    #[error("tornado: the value of today is {}, the columns are not", today.described())]
    TodayUnlike { today: Quantity },
}

fn in_words(dimension: Option<Dimension>) -> String {
    dimension.map_or_else(|| "texts".into(), |dimension| dimension.to_string())
}

impl Told for ChartError {
    fn hint(&self) -> Option<String> {
        let hint = match self {
            ChartError::Table(error) => return error.hint(),
            ChartError::Figure(error) => return error.hint(),
            ChartError::NoColumn { axis, names } => {
                return Some(format!("say .{axis}(\"...\") with a column of the table: {}", names.join(", ")));
            }
            ChartError::TooManyNames { most, .. } => {
                return Some(format!("choose at most {most} rows with filter or head_rows"));
            }
            ChartError::TextsAlongX { .. } => "leave .lines() out for bars, or choose another column",
            ChartError::NoNumbers { .. } => "choose another column",
            ChartError::Unlike { .. } => "draw two charts",
            ChartError::MarkUnlikeValues { .. } => "marks are of the dimension of the values",
            ChartError::MarkUnlikeColours { .. } => "marks on a heat map are contours of its values",
            ChartError::BandUnlike { .. } => "give starts and ends in the unit of the x axis",
            ChartError::NotTwoColumns => "say .y([\"low\", \"high\"])",
            ChartError::TodayUnlike { .. } => "give it in a unit of the columns, as in .tornado(38.psi)",
            ChartError::Ended(_) | ChartError::NoNumbersOnY { .. } | ChartError::MarkOnNoAxis { .. } => return None,
        };
        Some(hint.into())
    }
}
