//! Figures that are not lines, points or bars: histograms, boxes, tornados and heat maps.
//!
//! How they look is the work of `crate::figure`.

use super::ChartError;
use super::Style;
use super::drawing::Drawing;
use crate::figure::{Axis, Field, Figure, Plot, TornadoBar, check_rows};
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
            Style::Boxes => self.boxes()?,
            Style::Tornado(base) => self.tornado(*base)?,
            Style::Heat(name) => self.heat(name)?,
        }))
    }

    /// How often the values on x fall into each step.
    fn histogram(&self) -> Result<Figure, ChartError> {
        let name = self.needed("x")?;
        let (values, kind) = self.numbers(name)?;
        let figure = Figure::new(self.axis(name, kind), Axis::new("cases"), Plot::Histogram(gaps_as_nan(values)));
        self.marked_on_x(figure, kind)
    }

    /// A box of the values on y for each name on x.
    fn boxes(&self) -> Result<Figure, ChartError> {
        let (x, y) = (self.needed("x")?, self.needed("y")?);
        let kind = self.numbers(y)?.1;
        let groups = self.chart.table.group_by(x)?;
        check_rows(groups.len())?;
        let group = |(key, table): (Cell, Table)| -> Result<(String, Vec<f64>), ChartError> {
            Ok((self.key_in_words(&key), gaps_as_nan(self.shown(&table.column(y)?))))
        };
        let groups: Vec<(String, Vec<f64>)> = groups.into_iter().map(group).collect::<Result<_, _>>()?;
        self.marked_on_x(Figure::new(self.axis(y, kind), Axis::new(x), Plot::Boxes(groups)), kind)
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
        self.marked_on_x(Figure::new(self.axis(&label, kind), Axis::new(""), Plot::Tornado { base, bars }), kind)
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
        Ok(Figure::new(self.axis(x_name, x_kind), self.axis(y_name, y_kind), Plot::Heat(field)))
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

fn gaps_as_nan(values: Vec<Option<f64>>) -> Vec<f64> {
    values.into_iter().map(|value| value.unwrap_or(f64::NAN)).collect()
}
