//! What a figure shows, as plain data: axes, curves or bars, marks, size; and the checks before it is drawn.

use super::error::FigureError;
use super::palette::MOST_SERIES;
use super::text::words;
use super::ticks::{clock_text, number};

/// Smallest and largest width and height in pixels.
const LEAST_SIZE: u32 = 320;
const LEAST_HEIGHT: u32 = 240;
const MOST_SIZE: u32 = 2000;
/// Bars in all, beyond which none can be read.
const MOST_BARS: usize = 400;
/// Rows of boxes or bars, beyond which none can be read.
const MOST_ROWS: usize = 400;

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
    /// Width and height in pixels, from 320 by 240 to 2000 by 2000; default 760 by 480.
    pub size: (u32, u32),
    /// Sentences for the description alone, which is read aloud and not drawn; empty for none.
    pub remarks: String,
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

/// One axis of a figure.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// A path such as `feed.length` or words; dots between letters are shown as spaces.
    pub label: String,
    /// Shown in brackets after the label.
    pub unit: Option<String>,
    /// How numbers are laid out along it.
    pub scale: AxisScale,
    /// The ends of the axis; chosen from the data and marks when absent. What lies outside is left out, with a note.
    pub range: Option<(f64, f64)>,
    /// Whether a range that is chosen from the data includes zero.
    pub zero: Zero,
}

/// How numbers are laid out along an axis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AxisScale {
    /// Equal differences are equally far apart.
    #[default]
    Linear,
    /// Equal ratios are equally far apart; zero and below cannot be shown.
    Log,
    /// Hours after midnight, shown as times of the day, `05:30`; equal differences are equally far apart.
    Clock,
}

/// Whether a chosen range includes zero. Bars always do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Zero {
    /// When the data begin near zero, compared with their largest value.
    #[default]
    WhenNear,
    /// In any case.
    Always,
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
    /// How often values fall into each step of the x axis; the y axis counts.
    Histogram(Vec<f64>),
    /// Least, quartiles and greatest of the values of each name, lying along the x axis.
    Boxes(Vec<(String, Vec<f64>)>),
    /// A tornado: from the base, how far each thing moves the value both ways along the x axis.
    Tornado {
        /// The value from which all bars start.
        base: f64,
        /// The bars, the uppermost first.
        bars: Vec<TornadoBar>,
    },
    /// A value over both axes, as colors with contour lines.
    Heat(Field),
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

/// A named row of points, joined in the order given.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// The name in the legend.
    pub name: String,
    /// x and y; a missing y, or a number that is not finite, makes a gap.
    pub points: Vec<(f64, Option<f64>)>,
}

/// A named set of bars, one value for each category; a missing value is shown as missing.
#[derive(Clone, Debug, PartialEq)]
pub struct BarSeries {
    /// The name in the legend.
    pub name: String,
    /// One value for each category, in their order.
    pub values: Vec<Option<f64>>,
}

/// A dashed line across the figure with its label, such as the pressure below which a head stalls.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The value on the marked axis, in its unit; it is printed after the label.
    pub at: f64,
    /// The axis to which the value belongs.
    pub axis: MarkedAxis,
    /// What the line stands for.
    pub label: String,
}

/// The axis on which a mark has its value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkedAxis {
    /// The axis from left to right: the line is upright.
    X,
    /// The axis from bottom to top: the line is level.
    Y,
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
            size: (760, 480),
            remarks: String::new(),
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
            Plot::Curves { series, .. } => check_series(series.len())?,
            Plot::Bars { series, .. } => check_series(series.len())?,
            Plot::Layers(layers) => check_series(layers.len())?,
            Plot::Boxes(groups) => check_rows(groups.len())?,
            Plot::Tornado { bars, .. } => check_rows(bars.len())?,
            Plot::Histogram(_) | Plot::Heat(_) => {}
        }
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

impl Axis {
    /// An axis of plain numbers with this label, its range chosen from the data.
    pub fn new(label: impl Into<String>) -> Axis {
        Axis { label: label.into(), ..Axis::default() }
    }

    /// The same in a unit, shown in brackets after the label.
    pub fn unit(mut self, unit: impl Into<String>) -> Axis {
        self.unit = Some(unit.into());
        self
    }

    /// The same with equal ratios equally far apart.
    pub fn log(mut self) -> Axis {
        self.scale = AxisScale::Log;
        self
    }

    /// The same for hours after midnight, shown as times of the day.
    pub fn clocks(mut self) -> Axis {
        self.scale = AxisScale::Clock;
        self
    }

    /// A value on it for people, with four digits.
    pub(super) fn text(&self, value: f64) -> String {
        if self.scale == AxisScale::Clock { clock_text(value) } else { number(value, 4) }
    }

    /// The same between these ends, in its unit; they are judged when it is drawn.
    pub fn within(mut self, low: f64, high: f64) -> Axis {
        self.range = Some((low, high));
        self
    }

    /// The same with zero on it in any case.
    pub fn from_zero(mut self) -> Axis {
        self.zero = Zero::Always;
        self
    }

    /// Label and unit as printed: `feed length (ft)`.
    pub(super) fn title(&self) -> String {
        let label = words(&self.label);
        match self.shown_unit() {
            Some(unit) if label.is_empty() => unit,
            Some(unit) => format!("{label} ({unit})"),
            None => label,
        }
    }

    pub(super) fn shown_unit(&self) -> Option<String> {
        self.unit.as_deref().map(words).filter(|unit| !unit.is_empty())
    }

    fn check(&self) -> Result<(), FigureError> {
        let Some((low, high)) = self.range else { return Ok(()) };
        let finite = drawable(low).is_some() && drawable(high).is_some();
        let apart = high - low > 1e-9 * low.abs().max(high.abs()) && high - low > 1e-90;
        if !finite || !apart {
            return Err(FigureError::Range { axis: words(&self.label), low, high });
        }
        if self.scale == AxisScale::Log && low < 1e-90 {
            return Err(FigureError::LogRange { axis: words(&self.label), low });
        }
        Ok(())
    }
}

impl Series {
    /// A curve through points, none of them missing.
    pub fn new(name: impl Into<String>, points: impl IntoIterator<Item = (f64, f64)>) -> Series {
        Series { name: name.into(), points: points.into_iter().map(|(x, y)| (x, Some(y))).collect() }
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

/// A number that can be placed on an axis: finite and not so large that differences overflow; below 1e-90 it is zero.
pub(super) fn drawable(value: f64) -> Option<f64> {
    if value.abs() < 1e-90 {
        return Some(0.0);
    }
    (value.abs() < 1e90).then_some(value)
}
