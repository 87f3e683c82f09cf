//! Axes, and what stands on them: points, bands, marks.

use super::error::FigureError;
use super::text::words;
use super::ticks::{day_and_clock_text, number};

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
    /// Values that a chosen range holds too, as those of other figures beside this one.
    pub reach: Option<(f64, f64)>,
}

/// How numbers are laid out along an axis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AxisScale {
    /// Equal differences are equally far apart.
    #[default]
    Linear,
    /// Equal ratios are equally far apart; zero and below cannot be shown.
    Log,
    /// Hours after the first midnight, shown as times of the day, `05:30`, with `day 2` at the next midnight; equal differences are equally
    /// far apart.
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

/// A named row of points, joined in the order given.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// The name in the legend.
    pub name: String,
    /// x and y; a missing y, or a number that is not finite, makes a gap.
    pub points: Vec<(f64, Option<f64>)>,
}

/// A band between a lower and an upper course, in the color of a series.
#[derive(Clone, Debug, PartialEq)]
pub struct Ribbon {
    /// The series whose color it has, by its number.
    pub series: usize,
    /// x, and the two ends along y.
    pub points: Vec<(f64, f64, f64)>,
    /// How dense it is, 0 to 1.
    pub opacity: f64,
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
        if self.scale == AxisScale::Clock { day_and_clock_text(value) } else { number(value, 4) }
    }

    /// The same with its unit.
    pub(super) fn said(&self, value: f64) -> String {
        match &self.unit {
            Some(unit) => format!("{} {unit}", self.text(value)),
            None => self.text(value),
        }
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

    pub(super) fn check(&self) -> Result<(), FigureError> {
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

/// A number that can be placed on an axis: finite and not so large that differences overflow; below 1e-90 it is zero.
pub(super) fn drawable(value: f64) -> Option<f64> {
    if value.abs() < 1e-90 {
        return Some(0.0);
    }
    (value.abs() < 1e90).then_some(value)
}
