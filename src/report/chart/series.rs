//! Lines, points and bars from the columns of a table, one series for each column and group.

use super::drawing::Drawing;
use super::{ChartError, Style};
use crate::figure::{BarSeries, Figure, FromAbove, Series, check_bars, check_series};
use crate::limits;
use crate::limits::while_going_on;
use crate::table::{Cell, Order, Table};
use std::collections::{HashMap, HashSet};

/// More points than this are not named.
const MOST_NAMED: usize = 30;

impl Drawing<'_> {
    /// The tables that make a line each, with the names of the lines. Errors: more lines than can be distinguished.
    pub fn groups(&self) -> Result<Vec<(Option<String>, Table)>, ChartError> {
        match &self.chart.by {
            None => Ok(vec![(None, self.chart.table.clone())]),
            Some(by) => {
                let groups = self.chart.table.group_by(by)?;
                // Colors of values distinguish any number of lines.
                if self.shades()?.is_none() || self.chart.style.as_ref().is_some_and(|style| !matches!(style, Style::Curves(_))) {
                    check_series(groups.len() * self.chart.y.len().max(1))?;
                }
                Ok(groups.into_iter().map(|(key, group)| (Some(self.key_in_words(&key)), group)).collect())
            }
        }
    }

    /// A line for each column on y and each group, sorted along x.
    pub fn curves(&self, x_name: &str) -> Result<Vec<Series>, ChartError> {
        let mut series = Vec::new();
        for (group, table) in self.groups()? {
            let sorted = table.sort_by(x_name, Order::Rising)?;
            let x = self.shown(&sorted.column(x_name)?);
            for y_name in &self.chart.y {
                let y = self.shown(&sorted.column(y_name)?);
                let points = while_going_on(x.iter().zip(y)).filter_map(|(x, y)| Some(((*x)?, y))).collect();
                series.push(Series { name: self.series_name(group.as_deref(), y_name), points });
            }
        }
        Ok(series)
    }

    /// Bars of a column that reach down from above. Errors: it has no numbers, or there are names along x.
    pub fn with_bars_from_above(&self, figure: Figure, name: &str, x_name: &str) -> Result<Figure, ChartError> {
        let (values, x) = (self.chart.table.column(name)?, self.chart.table.column(x_name)?);
        if !values.kind().is_numeric() {
            return Err(ChartError::NoNumbersOnY { name: name.into() });
        }
        if !x.kind().is_numeric() {
            return Err(ChartError::TextsAlongX { name: x_name.into() });
        }
        let unit = values.kind().unit_text(self.system);
        let pairs = self.shown(&x).into_iter().zip(self.shown(&values));
        let points = while_going_on(pairs).filter_map(|(x, value)| x.zip(value)).collect();
        Ok(Figure { above: Some(FromAbove { name: name.into(), unit, points }), ..figure })
    }

    /// A name at each point. Errors: more points than can be named.
    pub fn named_points(&self, mut figure: Figure, names: &str, x_name: &str) -> Result<Figure, ChartError> {
        let column = |name: &str| self.chart.table.column(name);
        let (names, x) = (column(names)?, self.shown(&column(x_name)?));
        if names.len() * self.chart.y.len() > MOST_NAMED {
            return Err(ChartError::TooManyNames { found: names.len() * self.chart.y.len(), most: MOST_NAMED });
        }
        for y_name in &self.chart.y {
            for ((name, x), y) in names.cells().zip(&x).zip(self.shown(&column(y_name)?)) {
                if let (Some(x), Some(y), false) = (*x, y, matches!(name, Cell::Missing)) {
                    figure = figure.callout((x, y), self.key_in_words(&name));
                }
            }
        }
        Ok(figure)
    }

    /// The names along x in the order of their first row, and a set of bars for each column on y and each group. Errors: more bars than
    /// can be read.
    pub fn bars(&self, x_name: &str) -> Result<(Vec<String>, Vec<BarSeries>), ChartError> {
        let names = |table: &Table| -> Result<Vec<String>, ChartError> {
            let names = table.column(x_name)?;
            let names = while_going_on(names.cells()).map(|cell| self.key_in_words(&cell)).collect();
            limits::go_on()?;
            Ok(names)
        };
        let mut known = HashSet::new();
        let mut categories = names(&self.chart.table)?;
        categories.retain(|name| known.insert(name.clone()));
        check_bars(categories.len() * self.chart.y.len())?;
        let mut series = Vec::new();
        for (group, table) in self.groups()? {
            let mut rows = HashMap::new();
            names(&table)?.into_iter().enumerate().for_each(|(row, name)| {
                rows.entry(name).or_insert(row);
            });
            for y_name in &self.chart.y {
                let y = self.shown(&table.column(y_name)?);
                let value = |category: &String| rows.get(category).and_then(|row| y[*row]);
                let values = categories.iter().map(value).collect();
                series.push(BarSeries { name: self.series_name(group.as_deref(), y_name), values });
            }
        }
        Ok((categories, series))
    }

    fn series_name(&self, group: Option<&str>, y: &str) -> String {
        match (group, self.chart.y.len()) {
            (None, 1) => y.to_string(),
            (None, _) => y.to_string(),
            (Some(group), 1) => group.to_string(),
            (Some(group), _) => format!("{y}, {group}"),
        }
    }
}
