//! A chart in several panels, one for each value of a column, all on the same axes.

use super::drawing::Drawing;
use super::{Chart, ChartError};
use crate::figure::{Figure, Plot, check_panels};
use crate::numeric::lowest_and_highest;

/// How many panels stand beside each other, and the size of the sheet in pixels for each.
const MOST_BESIDE: usize = 3;
const WIDTH: u32 = 320;
const HEIGHT: u32 = 260;

impl Drawing<'_> {
    /// The panels. Errors: as [`Drawing::single`]; more values than panels that can be read.
    pub fn panels(&self, by: &str) -> Result<Figure, ChartError> {
        let groups = self.chart.table.group_by(by)?;
        check_panels(groups.len())?;
        let mut figures = Vec::with_capacity(groups.len());
        for (key, table) in groups {
            let chart = Chart { table, panels: None, title: None, caption: None, ..self.chart.clone() };
            let figure = Drawing { chart: &chart, system: self.system }.single()?;
            figures.push(figure.titled(self.key_in_words(&key)));
        }
        share_axes(&mut figures);
        let columns = match figures.len() {
            4 => 2,
            count => count.clamp(1, MOST_BESIDE),
        };
        let rows = figures.len().div_ceil(columns) as u32;
        let first = figures.first();
        let (x, y) = first.map_or_else(Default::default, |figure| (figure.x.clone(), figure.y.clone()));
        let size = ((WIDTH * columns as u32).max(400), (HEIGHT * rows).max(280));
        Ok(Figure::new(x, y, Plot::Panels { columns, figures }).sized(size.0, size.1))
    }
}

/// Gives all curves the ends that hold the data of all panels, so that they can be compared.
fn share_axes(figures: &mut [Figure]) {
    let points = |figure: &Figure| -> Vec<(f64, f64)> {
        let Plot::Curves { series, .. } = &figure.plot else { return Vec::new() };
        let own = series.iter().flat_map(|series| series.points.iter().filter_map(|(x, y)| Some((*x, (*y)?))));
        let bands =
            figure.ribbons.iter().flat_map(|ribbon| ribbon.points.iter().flat_map(|(x, low, high)| [(*x, *low), (*x, *high)]));
        own.chain(bands).filter(|(x, y)| x.is_finite() && y.is_finite()).collect()
    };
    let all: Vec<(f64, f64)> = figures.iter().flat_map(points).collect();
    let ends = |value: fn(&(f64, f64)) -> f64| lowest_and_highest(all.iter().map(value));
    let (x, y) = (ends(|point| point.0), ends(|point| point.1));
    for figure in figures {
        for (axis, (low, high)) in [(&mut figure.x, x), (&mut figure.y, y)] {
            if high >= low {
                axis.reach = Some((low, high));
            }
        }
    }
}
