//! From a chart to the description of its figure; what is special to a kind of figure is in its siblings.

use super::drawing::Drawing;
use super::pareto_front::with_pareto_front;
use super::{ChartError, Style};
use crate::figure::{CurveStyle, Figure};

impl Drawing<'_> {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self) -> Result<Figure, ChartError> {
        let chart = self.chart;
        if let Some(figure) = self.special()? {
            return Ok(self.dressed(figure));
        }
        let x_name = self.needed("x")?;
        self.needed("y")?;
        let x = chart.table.column(x_name)?;
        let style =
            chart.style.clone().unwrap_or(if x.kind().is_numeric() { Style::Curves(CurveStyle::Lines) } else { Style::Bars });
        let (y_axis, y_kind) = self.y_axis()?;
        let x_axis = self.axis(x_name, x.kind());
        let mut figure = match style {
            Style::Bars => {
                let (categories, series) = self.bars(x_name)?;
                Figure::bars(x_axis, y_axis, categories, series)
            }
            Style::Curves(curve) => {
                if !x.kind().is_numeric() {
                    return Err(ChartError::TextsAlongX { name: x_name.into() });
                }
                let series = self.curves(x_name)?;
                match chart.front {
                    Some(front) => with_pareto_front(x_axis, y_axis, curve, series, front)?,
                    None => Figure::curves(x_axis, y_axis, curve, series),
                }
            }
            // Drawn above.
            Style::Histogram | Style::Boxes | Style::Heat(_) | Style::Tornado(_) => return Err(self.missing("x")),
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
        if let (Some(names), true) = (&chart.names, x.kind().is_numeric()) {
            figure = self.named_points(figure, names, x_name)?;
        }
        if let Some(by) = &chart.by {
            figure = figure.legend(by.as_str());
        }
        Ok(self.dressed(figure))
    }

    /// With title and size.
    fn dressed(&self, figure: Figure) -> Figure {
        let titled = match &self.chart.title {
            Some(title) => figure.titled(title.as_str()),
            None => figure,
        };
        match self.chart.size {
            Some((width, height)) => titled.sized(width, height),
            None => titled,
        }
    }
}
