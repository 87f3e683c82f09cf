//! Why a chart cannot be drawn, and what to do about it.

use crate::figure::FigureError;
use crate::limits::Ended;
use crate::quantity::{Dimension, Quantity};
use crate::table::TableError;
use crate::told::Told;
use crate::unit_system::chosen;
use thiserror::Error;

/// Why a chart cannot be drawn.
#[derive(Debug, Error)]
pub enum ChartError {
    /// A column is missing, or the table makes no sense.
    #[error(transparent)]
    Table(#[from] TableError),
    /// The figure itself cannot be drawn.
    #[error(transparent)]
    Figure(#[from] FigureError),
    /// Somebody or a limit stopped it.
    #[error(transparent)]
    Ended(#[from] Ended),
    /// An axis was given no column, and none can be chosen for it.
    #[error("the chart has no column on its {axis} axis")]
    NoColumn {
        /// Which axis, such as `x`.
        axis: &'static str,
        /// Names of all columns of the table.
        names: Vec<String>,
    },
    /// Lines were to run along a column of texts.
    #[error("the column '{name}' holds strings; lines need numbers on x")]
    TextsAlongX {
        /// Name of the column.
        name: String,
    },
    /// A column without numbers was to be counted or colored.
    #[error("the column '{name}' holds no numbers")]
    NoNumbers {
        /// Name of the column.
        name: String,
    },
    /// A column without numbers was to stand on the y axis.
    #[error("the column '{name}' holds no numbers and cannot be on the y axis")]
    NoNumbersOnY {
        /// Name of the column.
        name: String,
    },
    /// Two columns on the y axis hold different dimensions.
    #[error("'{first}' and '{other}' are of different dimensions and cannot share the y axis")]
    Unlike {
        /// Name of the first column.
        first: String,
        /// Name of the column that does not go with it.
        other: String,
    },
    /// A mark is of the dimension of neither axis.
    #[error("mark: {} fits neither axis: x is {}, y is {}", value.described(), in_words(*x), in_words(*y))]
    MarkOnNoAxis {
        /// Where the mark is.
        value: Quantity,
        /// What stands on the x axis; nothing for texts.
        x: Option<Dimension>,
        /// What stands on the y axis; nothing for texts.
        y: Option<Dimension>,
    },
    /// A mark is of another dimension than the values of bars, boxes or a histogram.
    #[error("mark: {} does not fit the values of the chart", value.described())]
    MarkUnlikeValues {
        /// Where the mark is.
        value: Quantity,
    },
    /// A mark is of another dimension than the colors of a heat map.
    #[error("mark: {} does not fit the colors of the chart", value.described())]
    MarkUnlikeColors {
        /// Where the mark is.
        value: Quantity,
    },
    /// A band starts or ends at a value that the x axis does not hold.
    #[error("bands: {} is not on the axis of '{x}'", start.described())]
    BandUnlike {
        /// Where the band starts.
        start: Quantity,
        /// Name of the column on the x axis.
        x: String,
    },
    /// More points were to be named than can be read.
    #[error("names_from: {found} points are too many to label")]
    TooManyNames {
        /// How many points there are.
        found: usize,
        /// How many can be named.
        most: usize,
    },
    /// An option was said that has no meaning for the kind of chart.
    #[error("{option} has no meaning for {kind}")]
    NoMeaning {
        /// The option.
        option: &'static str,
        /// What the chart is.
        kind: &'static str,
        /// The kinds of charts for which it has a meaning.
        kinds: &'static [&'static str],
    },
    /// An end of an axis is of another dimension than its column.
    #[error("{axis}_limits: {} does not fit the column on {axis}", value.described())]
    LimitUnlike {
        /// `x` or `y`.
        axis: &'static str,
        /// The end that was given.
        value: Quantity,
    },
    /// Several columns were given where one can be drawn.
    #[error("{kind} show one column on y, found {found}")]
    OneColumn {
        /// What the chart is.
        kind: &'static str,
        /// How many columns were given.
        found: usize,
    },
    /// A tornado was given one column, or more than two.
    #[error("a tornado needs two columns on y: the value at the low and at the high end of each parameter")]
    NotTwoColumns,
    /// The value of today is of another dimension than the columns of a tornado.
    #[error("tornado: the present value is {}, the columns are not", today.described())]
    TodayUnlike {
        /// The value that was given.
        today: Quantity,
    },
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
                return Some(format!("set .{axis}(\"...\") to a column of the table: {}", names.join(", ")));
            }
            ChartError::TooManyNames { most, .. } => {
                return Some(format!("choose at most {most} rows with filter or first_rows"));
            }
            ChartError::NoMeaning { option, kinds, .. } => {
                return Some(format!("leave .{option}(..) out; it is for {}", kinds.join(", ")));
            }
            ChartError::LimitUnlike { .. } => "give both ends in a unit of the column",
            ChartError::OneColumn { .. } => "draw a chart for each column",
            ChartError::TextsAlongX { .. } => "leave .lines() out for bars, or choose another column",
            ChartError::NoNumbers { .. } => "choose another column",
            ChartError::Unlike { .. } => "draw two charts",
            ChartError::MarkUnlikeValues { .. } => "give the mark in a unit of the values",
            ChartError::MarkUnlikeColors { .. } => "marks on a heat map are contours of its values",
            ChartError::BandUnlike { .. } => "give starts and ends in the unit of the x axis",
            ChartError::NotTwoColumns => "say .y([\"low\", \"high\"])",
            ChartError::TodayUnlike { .. } => "give it in a unit of the columns, as in .tornado({38.psi|2.6.bar})",
            ChartError::Ended(_) | ChartError::NoNumbersOnY { .. } | ChartError::MarkOnNoAxis { .. } => return None,
        };
        Some(chosen(hint))
    }
}
