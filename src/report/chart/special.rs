//! Figures that are not lines, points or bars: histograms, boxes, tornados and heat maps.
//!
//! How they look is the work of `crate::figure`.

use super::ChartError;
use super::Style;
use super::drawing::Drawing;
use crate::figure::{Axis, BoxRow, CurveStyle, Field, Figure, Plot, Series, TornadoBar, check_rows};
use crate::limits;
use crate::limits::while_going_on;
use crate::quantity::Quantity;
use crate::table::{Cell, ColumnKind, Table};

impl Drawing<'_> {
    /// Histograms, boxes, heat maps and tornados; nothing for lines, points and bars.
    pub fn special(&self) -> Result<Option<Figure>, ChartError> {
        let Some(style) = &self.chart.style else { return Ok(None) };
        Ok(Some(match style {
            Style::Curves(_) | Style::Bars => return Ok(None),
            Style::Histogram => self.histogram()?,
            Style::Ecdf => self.ecdf()?,
            Style::Boxes => self.boxes()?,
            Style::Tornado(base) => self.tornado(*base)?,
            Style::Heat(name) => self.heat(name)?,
        }))
    }

    /// How often the values on x fall into each step, for each value of the column of groups.
    fn histogram(&self) -> Result<Figure, ChartError> {
        let name = self.needed("x")?;
        let kind = self.numbers(name)?.1;
        let groups = self.named_values(name)?;
        let axis = self.scaled(self.axis(name, kind), "x", kind)?;
        let figure = Figure::new(axis, Axis::new("cases"), Plot::Histogram(groups));
        let figure = match &self.chart.by {
            Some(by) => figure.legend(by.as_str()),
            None => figure,
        };
        self.marked_on_x(figure, kind)
    }

    /// The values of a column in each group, with the name of the group.
    fn named_values(&self, name: &str) -> Result<Vec<(String, Vec<f64>)>, ChartError> {
        let values = |(group, table): (Option<String>, Table)| -> Result<(String, Vec<f64>), ChartError> {
            Ok((group.unwrap_or_default(), gaps_as_nan(self.shown(&table.column(name)?))))
        };
        self.groups()?.into_iter().map(values).collect()
    }

    /// The share of the values at or below each value, as steps (empirical cumulative distribution function).
    fn ecdf(&self) -> Result<Figure, ChartError> {
        let name = self.needed("x")?;
        let kind = self.numbers(name)?.1;
        let axis = self.scaled(self.axis(name, kind), "x", kind)?;
        let mut series = Vec::new();
        let mut greatest = f64::NEG_INFINITY;
        let mut all = Vec::new();
        for (group, values) in self.named_values(name)? {
            let known: Vec<f64> = while_going_on(values).filter(|value| value.is_finite()).collect();
            let rising = limits::sorted(known, f64::total_cmp)?;
            greatest = rising.last().copied().map_or(greatest, |last| greatest.max(last));
            all.push((group, rising));
        }
        for (group, rising) in all {
            let count = rising.len() as f64;
            let steps = rising.iter().enumerate().map(|(index, value)| (*value, 100.0 * (index as f64 + 1.0) / count));
            let start = rising.first().map(|first| (*first, 0.0));
            // Every line goes on to the greatest value of all.
            let end = rising.last().map(|_| (greatest, 100.0));
            let name = if group.is_empty() { "share at or below".to_string() } else { group };
            series.push(Series::new(name, start.into_iter().chain(steps).chain(end)));
        }
        let y = Axis::new("share at or below").unit("%").from_zero();
        let figure = Figure::curves(axis, y, CurveStyle::Steps, series);
        let figure = match &self.chart.by {
            Some(by) => figure.legend(by.as_str()),
            None => figure,
        };
        self.marked_on_x(figure, kind)
    }

    /// A box of the values on y for each name on x, and for each value of the column of groups.
    fn boxes(&self) -> Result<Figure, ChartError> {
        let (x, y) = (self.needed("x")?, self.needed("y")?);
        let kind = self.numbers(y)?.1;
        let (mut groups, mut colors) = (Vec::new(), Vec::new());
        for (key, table) in self.chart.table.group_by(x)? {
            let name = self.key_in_words(&key);
            let parts = match &self.chart.by {
                Some(by) => table.group_by(by)?,
                None => vec![(Cell::Missing, table)],
            };
            for (part, table) in parts {
                let part = self.chart.by.as_ref().map(|_| self.key_in_words(&part));
                let name = part.as_ref().map_or(name.clone(), |part| format!("{name}, {part}"));
                // Boxes of one group have one color, alone the usual one.
                let color = part.map_or(ALONE, |part| color_of(&mut colors, part));
                groups.push(BoxRow { name, values: gaps_as_nan(self.shown(&table.column(y)?)), color });
            }
        }
        check_rows(groups.len())?;
        let axis = self.scaled(self.axis(y, kind), "y", kind)?;
        self.marked_on_x(Figure::new(axis, Axis::new(x), Plot::Boxes(groups)), kind)
    }

    /// A tornado around the value of today.
    fn tornado(&self, today: Quantity) -> Result<Figure, ChartError> {
        if let Some(chart) = self.chart.of_a_tornado() {
            return Drawing { chart: &chart, system: self.system }.tornado(today);
        }
        let names = self.needed("x")?;
        let [low, high] = &self.chart.y[..] else {
            return Err(ChartError::NotTwoColumns);
        };
        check_rows(self.chart.table.rows())?;
        let ((lows, kind), (highs, _)) = (self.numbers(low)?, self.numbers(high)?);
        self.y_axis()?;
        let names = self.chart.table.column(names)?;
        let bars = names.cells().zip(lows.into_iter().zip(highs));
        let named = |(row, (name, (low, high)))| TornadoBar { name: self.with_its_range(&name, row), low, high };
        let bars = bars.enumerate().map(named).collect();
        if !matches!(kind, ColumnKind::Quantity { dimension, .. } if dimension == today.dimension) {
            return Err(ChartError::TodayUnlike { today });
        }
        let base = kind.shown_value(today.si, self.system);
        let label = self.chart.by.clone().unwrap_or_else(|| self.quantity_in_words(kind));
        let axis = self.scaled(self.axis(&label, kind), "y", kind)?;
        self.marked_on_x(Figure::new(axis, Axis::new(""), Plot::Tornado { base, bars }), kind)
    }

    /// A heat map of the column over x and y; marks become strong contours.
    fn heat(&self, name: &str) -> Result<Figure, ChartError> {
        let (x_name, y_name) = (self.needed("x")?, self.needed("y")?);
        let ((xs, x_kind), (ys, y_kind), (zs, z_kind)) = (self.numbers(x_name)?, self.numbers(y_name)?, self.numbers(name)?);
        let distinct = |values: &[Option<f64>]| -> Result<Vec<f64>, ChartError> {
            let known = while_going_on(values).flatten().copied().filter(|value| value.is_finite()).collect();
            let mut known = limits::sorted(known, f64::total_cmp)?;
            known.dedup();
            Ok(known)
        };
        let (columns, rows) = (distinct(&xs)?, distinct(&ys)?);
        limits::room_for(columns.len().saturating_mul(rows.len()).saturating_mul(size_of::<Option<f64>>()))?;
        let mut values = vec![None; columns.len() * rows.len()];
        let place = |sorted: &[f64], value: f64| sorted.binary_search_by(|other| other.total_cmp(&value)).ok();
        for ((x, y), z) in while_going_on(xs.iter().zip(&ys).zip(&zs)) {
            let found = x.and_then(|x| place(&columns, x)).zip(y.and_then(|y| place(&rows, y)));
            if let Some((column, row)) = found {
                values[row * columns.len() + column] = *z;
            }
        }
        let mut marks = Vec::new();
        for (value, label) in &self.chart.marks {
            if !matches!(z_kind, ColumnKind::Quantity { dimension, .. } if dimension == value.dimension) {
                return Err(ChartError::MarkUnlikeColors { value: *value });
            }
            marks.push((z_kind.shown_value(value.si, self.system), label.clone()));
        }
        let field = Field { xs: columns, ys: rows, values, axis: self.axis(name, z_kind), marks };
        let (x_axis, y_axis) = (self.axis(x_name, x_kind), self.axis(y_name, y_kind));
        Ok(Figure::new(self.scaled(x_axis, "x", x_kind)?, self.scaled(y_axis, "y", y_kind)?, Plot::Heat(field)))
    }

    /// The name of a bar, with the ends of its range where the table has them: `feed.diameter, 0.5 in to 0.75 in`.
    fn with_its_range(&self, name: &Cell, row: usize) -> String {
        let end = |column: &str| match self.chart.table.cell(row, column) {
            Ok(Cell::Text(text)) => Some(text),
            _ => None,
        };
        match (end("low"), end("high")) {
            (Some(low), Some(high)) => format!("{}, {low} to {high}", self.key_in_words(name)),
            _ => self.key_in_words(name),
        }
    }

    /// What a column holds, without its article: `pressure`.
    fn quantity_in_words(&self, kind: ColumnKind) -> String {
        let text = kind.to_string();
        text.strip_prefix("a ").or(text.strip_prefix("an ")).unwrap_or(&text).to_string()
    }
}

/// The color of boxes that are not told apart, as the number of a series.
const ALONE: usize = 4;

/// The place of a group among those before it.
fn color_of(known: &mut Vec<String>, group: String) -> usize {
    known.iter().position(|one| *one == group).unwrap_or_else(|| {
        known.push(group);
        known.len() - 1
    })
}

fn gaps_as_nan(values: Vec<Option<f64>>) -> Vec<f64> {
    values.into_iter().map(|value| value.unwrap_or(f64::NAN)).collect()
}
