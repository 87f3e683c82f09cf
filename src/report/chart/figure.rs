//! From a chart to the description of its figure; what is special to a kind of figure is in its siblings.

use super::drawing::Drawing;
use super::pareto_front::with_pareto_front;
use super::{ChartError, Style};
use crate::figure::{CurveStyle, Figure};

impl Drawing<'_> {
    /// What is drawn. Errors: columns that are missing or cannot be drawn; options that have no meaning for this kind of chart.
    pub fn figure(&self) -> Result<Figure, ChartError> {
        self.check_options()?;
        let figure = match &self.chart.panels {
            Some(by) => self.panels(by)?,
            None => self.single()?,
        };
        Ok(self.dressed(figure))
    }

    /// The figure of one panel, without title and size.
    pub fn single(&self) -> Result<Figure, ChartError> {
        let chart = self.chart;
        if let Some(figure) = self.special()? {
            return Ok(figure);
        }
        let x_name = self.needed("x")?;
        self.needed("y")?;
        let x = chart.table.column(x_name)?;
        let (y_axis, y_kind) = self.y_axis()?;
        let y_axis = self.scaled(y_axis, "y", y_kind)?;
        let x_axis = self.scaled(self.axis(x_name, x.kind()), "x", x.kind())?;
        let mut figure = match self.style()? {
            Style::Bars => {
                let (categories, series) = self.bars(x_name)?;
                Figure::bars(x_axis, y_axis, categories, series)
            }
            Style::Curves(_) if !x.kind().is_numeric() => return Err(ChartError::TextsAlongX { name: x_name.into() }),
            Style::Curves(curve) if chart.fan => self.fan(x_axis, y_axis, curve, x_name)?,
            Style::Curves(curve) => {
                let series = self.curves(x_name)?;
                let figure = match chart.front {
                    Some(front) => with_pareto_front(x_axis, y_axis, curve, series, front)?,
                    None => Figure::curves(x_axis, y_axis, curve, series),
                };
                Figure { shades: if chart.front.is_none() { self.shades()? } else { None }, ..figure }
            }
            // Drawn above.
            Style::Histogram | Style::Ecdf | Style::Boxes | Style::Heat(_) | Style::Tornado(_) => return Err(self.missing("x")),
        };
        for (name, spans) in &chart.bands {
            figure = figure.band(name.as_str(), self.spans(spans, x_name, x.kind())?);
        }
        if let Some(above) = &chart.above {
            figure = self.with_bars_from_above(figure, above, x_name)?;
        }
        for (value, label) in &chart.marks {
            figure = self.mark(figure, x.kind(), y_kind, *value, label)?;
        }
        if let Some(names) = &chart.names {
            figure = self.named_points(figure, names, x_name)?;
        }
        if let Some(by) = &chart.by {
            figure = figure.legend(by.as_str());
        }
        Ok(Figure { equality: chart.equality, ..figure })
    }

    /// The kind of figure: what was said, or lines over numbers and bars over texts.
    pub fn style(&self) -> Result<Style, ChartError> {
        if let Some(style) = &self.chart.style {
            return Ok(style.clone());
        }
        let Some(x) = &self.chart.x else { return Ok(Style::Curves(CurveStyle::Lines)) };
        let is_numeric = self.chart.table.column(x)?.kind().is_numeric();
        Ok(if is_numeric { Style::Curves(CurveStyle::Lines) } else { Style::Bars })
    }

    /// With title, caption and size.
    fn dressed(&self, figure: Figure) -> Figure {
        let chart = self.chart;
        let mut figure = Figure { caption: chart.caption.clone(), dark: chart.dark, ..figure };
        figure.title = chart.title.clone().or(figure.title);
        figure.size = chart.size.unwrap_or(figure.size);
        figure.pixel_ratio = chart.pixel_ratio.unwrap_or(figure.pixel_ratio);
        figure
    }
}
