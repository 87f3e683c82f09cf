//! What a figure shows, as plain data: axes, curves or bars, marks, size; and the checks before it is drawn.

pub(super) use super::axis::drawable;
pub use super::axis::{Axis, AxisScale, Mark, MarkedAxis, Ribbon, Series, Zero};
use super::error::FigureError;
use super::kinds::{Strips, Waterfall};
use super::palette::MOST_SERIES;

/// Smallest and largest width and height in pixels.
const LEAST_SIZE: u32 = 320;
const LEAST_HEIGHT: u32 = 240;
const MOST_SIZE: u32 = 2000;
/// Bars in all, beyond which none can be read.
const MOST_BARS: usize = 400;
/// Rows of boxes or bars, beyond which none can be read.
const MOST_ROWS: usize = 400;
/// Figures on one sheet, beyond which none can be read.
const MOST_PANELS: usize = 24;
/// Pixels of a picture each way for one of the figure.
const MOST_RATIO: u32 = 4;

/// A figure: what is drawn, on which axes, with which marks.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Printed above the figure and read aloud by screen readers.
    pub title: Option<String>,
    /// The axis of the points' first numbers, or of the bars' names.
    pub x: Axis,
    /// The axis of the points' second numbers, or of the bars' values.
    pub y: Axis,
    /// What is drawn between them.
    pub plot: Plot,
    /// Dashed lines across the figure with their labels.
    pub marks: Vec<Mark>,
    /// Rows of on and off below the curves, on their level axis.
    pub bands: Vec<Band>,
    /// Bars that reach down from above over the curves.
    pub above: Option<FromAbove>,
    /// Names of single points of the curves.
    pub callouts: Vec<Callout>,
    /// What the names of the series are values of, such as `feed.diameter (in)`.
    pub legend_title: Option<String>,
    /// Sentences printed below the figure, before the notes.
    pub caption: Option<String>,
    /// Bands between two courses, below the curves.
    pub ribbons: Vec<Ribbon>,
    /// Whether the line is drawn on which x and y are equal.
    pub equality: bool,
    /// The values by which the series are colored, from sand to blue; without them each has a color of its own.
    pub shades: Option<Shades>,
    /// Width and height in pixels, from 320 by 240 to 2000 by 2000; default 760 by 480.
    pub size: (u32, u32),
    /// Pixels of a picture each way for one of the size; 1 to 4.
    pub pixel_ratio: u32,
    /// Whether a picture or a document is drawn on dark paper. A drawing has both and shows what its reader prefers.
    pub dark: bool,
    /// Sentences for the description alone, which is read aloud and not drawn; empty for none.
    pub remarks: String,
    /// True when it is drawn on the axes of another figure, so that both can be compared: no note about what lies outside moves the plot.
    pub held: bool,
}

/// Values that color the series, with the axis of their key.
#[derive(Clone, Debug, PartialEq)]
pub struct Shades {
    /// What the values are, with their unit.
    pub axis: Axis,
    /// One for each series, in their order.
    pub values: Vec<f64>,
}

/// Bars that reach down from the upper edge, on a scale of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct FromAbove {
    /// What they are.
    pub name: String,
    /// The unit of their values.
    pub unit: Option<String>,
    /// Where along x, and how long.
    pub points: Vec<(f64, f64)>,
}

/// What stands between the axes.
#[derive(Clone, Debug, PartialEq)]
pub enum Plot {
    /// Curves, all in one style.
    Curves {
        /// How their points are drawn.
        style: CurveStyle,
        /// The curves, in the order of the legend.
        series: Vec<Series>,
    },
    /// Groups of bars, one group a name, one bar a series.
    Bars {
        /// Names of the groups, from left to right.
        categories: Vec<String>,
        /// The bars, in the order of the legend; each has a value for every name.
        series: Vec<BarSeries>,
    },
    /// Curves, each in a style of its own.
    Layers(Vec<(CurveStyle, Series)>),
    /// How often values of each name fall into each step of the x axis; the y axis counts.
    Histogram(Vec<(String, Vec<f64>)>),
    /// Least, quartiles and greatest of the values of each name, lying along the x axis.
    Boxes(Vec<BoxRow>),
    /// A tornado: from the base, how far each thing moves the value both ways along the x axis.
    Tornado {
        /// The value from which all bars start.
        base: f64,
        /// The bars, the uppermost first.
        bars: Vec<TornadoBar>,
    },
    /// A value over both axes, as colors with contour lines.
    Heat(Field),
    /// From a first to a last value along the x axis, each step beginning where the one above it ends.
    Waterfall(Waterfall),
    /// Courses over one time: rows of on and off above curves on axes of their own.
    Strips(Strips),
    /// Several figures on one sheet, row by row.
    Panels {
        /// How many stand beside each other.
        columns: usize,
        /// The figures; their own sizes do not matter.
        figures: Vec<Figure>,
    },
}

/// The values of one box.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxRow {
    /// Whose values they are, printed at the left.
    pub name: String,
    /// In any order; what is no number is missing.
    pub values: Vec<f64>,
    /// Its color, as the number of a series.
    pub color: usize,
}

/// What one thing does to a value when it is set low and high.
#[derive(Clone, Debug, PartialEq)]
pub struct TornadoBar {
    /// What is set low and high.
    pub name: String,
    /// The value where it is set low; nothing where there is none.
    pub low: Option<f64>,
    /// The value where it is set high; nothing where there is none.
    pub high: Option<f64>,
}

/// Values on a grid, row by row along x; missing ones stay blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Rising, at least two.
    pub xs: Vec<f64>,
    /// Rising, at least two.
    pub ys: Vec<f64>,
    /// `values[row * xs.len() + column]` at `ys[row]` and `xs[column]`.
    pub values: Vec<Option<f64>>,
    /// What the values are.
    pub axis: Axis,
    /// Values whose contour is drawn strong, with a label.
    pub marks: Vec<(f64, String)>,
}

/// When something is on.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// What is on, printed at the left of the row.
    pub name: String,
    /// Starts and ends along x.
    pub spans: Vec<(f64, f64)>,
}

/// A name at a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Callout {
    /// x and y of the point, in the units of the axes.
    pub at: (f64, f64),
    /// The name, printed beside the point.
    pub label: String,
}

/// How the points of a curve are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CurveStyle {
    /// Straight lines from point to point.
    #[default]
    Lines,
    /// Dots alone.
    Points,
    /// Dots joined by straight lines.
    LinesAndPoints,
    /// Each value holds until the next point: for things that switch.
    Steps,
}

/// A named set of bars, one value for each category; a missing value is shown as missing.
#[derive(Clone, Debug, PartialEq)]
pub struct BarSeries {
    /// The name in the legend.
    pub name: String,
    /// One value for each category, in their order.
    pub values: Vec<Option<f64>>,
}

/// Errors: a pixel ratio in which no picture is drawn.
pub(super) fn check_ratio(found: u32) -> Result<(), FigureError> {
    match (1..=MOST_RATIO).contains(&found) {
        true => Ok(()),
        false => Err(FigureError::PixelRatio { found, most: MOST_RATIO }),
    }
}

impl Figure {
    /// Curves of `series` on two axes of numbers.
    pub fn curves(x: Axis, y: Axis, style: CurveStyle, series: Vec<Series>) -> Figure {
        Figure::new(x, y, Plot::Curves { style, series })
    }

    /// Bars: `x` names what the categories are, `y` is the axis of the values.
    pub fn bars(x: Axis, y: Axis, categories: Vec<String>, series: Vec<BarSeries>) -> Figure {
        Figure::new(x, y, Plot::Bars { categories, series })
    }

    /// Any plot on two axes.
    pub fn new(x: Axis, y: Axis, plot: Plot) -> Figure {
        let (marks, bands, callouts) = (Vec::new(), Vec::new(), Vec::new());
        Figure {
            title: None,
            x,
            y,
            plot,
            marks,
            bands,
            above: None,
            callouts,
            legend_title: None,
            caption: None,
            ribbons: Vec::new(),
            equality: false,
            shades: None,
            size: (760, 480),
            pixel_ratio: 1,
            dark: false,
            remarks: String::new(),
            held: false,
        }
    }

    /// A row below the curves that shows when something is on.
    pub fn band(mut self, name: impl Into<String>, spans: Vec<(f64, f64)>) -> Figure {
        self.bands.push(Band { name: name.into(), spans });
        self
    }

    /// A name at a point.
    pub fn callout(mut self, at: (f64, f64), label: impl Into<String>) -> Figure {
        self.callouts.push(Callout { at, label: label.into() });
        self
    }

    /// The same with a title above it.
    pub fn titled(mut self, title: impl Into<String>) -> Figure {
        self.title = Some(title.into());
        self
    }

    /// The same with one more dashed line, at a value of an axis.
    pub fn marked(mut self, axis: MarkedAxis, at: f64, label: impl Into<String>) -> Figure {
        self.marks.push(Mark { at, axis, label: label.into() });
        self
    }

    /// The same with words above its legend.
    pub fn legend(mut self, title: impl Into<String>) -> Figure {
        self.legend_title = Some(title.into());
        self
    }

    /// The same in another size, pixels; it is judged when the figure is drawn.
    pub fn sized(mut self, width: u32, height: u32) -> Figure {
        self.size = (width, height);
        self
    }

    /// The checks that need no drawing. Errors: what is wrong with the size, an axis, a mark or the count of series.
    pub(super) fn check(&self) -> Result<(), FigureError> {
        let (width, height) = self.size;
        if !(LEAST_SIZE..=MOST_SIZE).contains(&width) || !(LEAST_HEIGHT..=MOST_SIZE).contains(&height) {
            return Err(FigureError::Size { width, height, least: LEAST_SIZE, most: MOST_SIZE });
        }
        self.x.check()?;
        self.y.check()?;
        match &self.plot {
            // Colors of values distinguish any number of series.
            Plot::Curves { series, .. } if self.shades.is_none() => check_series(series.len())?,
            Plot::Curves { .. } => {}
            Plot::Bars { series, .. } => check_series(series.len())?,
            Plot::Layers(layers) => check_series(layers.len())?,
            Plot::Boxes(groups) => check_rows(groups.len())?,
            Plot::Tornado { bars, .. } => check_rows(bars.len())?,
            Plot::Histogram(groups) => check_series(groups.len())?,
            Plot::Waterfall(waterfall) => check_rows(waterfall.names.len())?,
            Plot::Strips(strips) => check_rows(strips.rows.len())?,
            Plot::Panels { columns, figures } => {
                check_panels(figures.len())?;
                if *columns == 0 || figures.is_empty() {
                    return Err(FigureError::NothingToDraw { values: 0 });
                }
            }
            Plot::Heat(_) => {}
        }
        check_ratio(self.pixel_ratio)?;
        if let Plot::Bars { categories, series } = &self.plot {
            self.check_bars(categories, series)?;
        }
        for mark in &self.marks {
            let axis = if mark.axis == MarkedAxis::X { &self.x } else { &self.y };
            let at = drawable(mark.at);
            if at.is_none_or(|at| axis.scale == AxisScale::Log && at <= 0.0) {
                return Err(FigureError::MarkValue { label: mark.label.clone(), at: mark.at });
            }
        }
        Ok(())
    }

    fn check_bars(&self, categories: &[String], series: &[BarSeries]) -> Result<(), FigureError> {
        if self.x.scale == AxisScale::Log || self.y.scale == AxisScale::Log {
            return Err(FigureError::LogBars);
        }
        if let Some(wrong) = series.iter().find(|one| one.values.len() != categories.len()) {
            let (expected, found) = (categories.len(), wrong.values.len());
            return Err(FigureError::BarCount { series: wrong.name.clone(), expected, found });
        }
        check_bars(categories.len() * series.len())?;
        match self.marks.iter().find(|mark| mark.axis == MarkedAxis::X) {
            Some(mark) => Err(FigureError::MarkOnNames { label: mark.label.clone() }),
            None => Ok(()),
        }
    }
}

impl BarSeries {
    /// Bars without a missing value.
    pub fn new(name: impl Into<String>, values: impl IntoIterator<Item = f64>) -> BarSeries {
        BarSeries { name: name.into(), values: values.into_iter().map(Some).collect() }
    }
}

/// Errors: more series than can be distinguished.
pub fn check_series(found: usize) -> Result<(), FigureError> {
    if found > MOST_SERIES { Err(FigureError::TooManySeries { found, most: MOST_SERIES }) } else { Ok(()) }
}

/// Errors: more bars than can be read.
pub fn check_bars(found: usize) -> Result<(), FigureError> {
    if found > MOST_BARS { Err(FigureError::TooManyBars { found, most: MOST_BARS }) } else { Ok(()) }
}

/// Errors: more rows of boxes or bars than can be read.
pub fn check_rows(found: usize) -> Result<(), FigureError> {
    if found > MOST_ROWS { Err(FigureError::TooManyRows { found, most: MOST_ROWS }) } else { Ok(()) }
}

/// Errors: more figures on one sheet than can be read.
pub fn check_panels(found: usize) -> Result<(), FigureError> {
    if found > MOST_PANELS { Err(FigureError::TooManyPanels { found, most: MOST_PANELS }) } else { Ok(()) }
}
