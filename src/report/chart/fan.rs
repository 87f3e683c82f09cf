//! Fans: bands of percentiles over x with the median, one fan for each value of a column.

use super::ChartError;
use super::drawing::Drawing;
use crate::figure::{Axis, CurveStyle, Figure, Ribbon, Series};
use crate::limits;
use crate::limits::while_going_on;

/// Each band from the lower to the upper percentile, with its density.
const BANDS: [(f64, f64, f64); 2] = [(0.05, 0.95, 0.16), (0.25, 0.75, 0.26)];

impl Drawing<'_> {
    /// The fan of each series. Errors: columns that are missing or cannot be drawn.
    pub fn fan(&self, x: Axis, y: Axis, style: CurveStyle, x_name: &str) -> Result<Figure, ChartError> {
        let (mut medians, mut ribbons) = (Vec::new(), Vec::new());
        for (index, series) in self.curves(x_name)?.into_iter().enumerate() {
            let columns = by_x(series.points)?;
            let band = |(low, high, opacity)| Ribbon {
                series: index,
                points: columns.iter().map(|(x, rising)| (*x, quantile(rising, low), quantile(rising, high))).collect(),
                opacity,
            };
            ribbons.extend(BANDS.map(band));
            medians.push(Series::new(series.name, columns.iter().map(|(x, rising)| (*x, quantile(rising, 0.5)))));
        }
        let mut figure = Figure::curves(x, y, style, medians);
        figure.ribbons = ribbons;
        figure.remarks = "Bands hold 50 % and 90 % of the values at each place; the line is their median.".into();
        Ok(figure)
    }
}

/// The rising values at each x; points come sorted along x. Errors: the evaluation is to end.
fn by_x(points: Vec<(f64, Option<f64>)>) -> Result<Vec<(f64, Vec<f64>)>, ChartError> {
    let mut columns: Vec<(f64, Vec<f64>)> = Vec::new();
    for (x, y) in while_going_on(points) {
        let Some(y) = y.filter(|y| y.is_finite() && x.is_finite()) else { continue };
        match columns.last_mut() {
            Some((last, values)) if *last == x => values.push(y),
            _ => columns.push((x, vec![y])),
        }
    }
    columns.into_iter().map(|(x, values)| Ok((x, limits::sorted(values, f64::total_cmp)?))).collect()
}

/// The value at a share of rising values, between neighbors in proportion (Hyndman and Fan 1996, type 7).
fn quantile(rising: &[f64], share: f64) -> f64 {
    let at = share * (rising.len() - 1) as f64;
    let (below, above) = (rising[at.floor() as usize], rising[at.ceil() as usize]);
    below + (above - below) * at.fract()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentiles_are_taken_at_each_x() {
        let points = vec![(1.0, Some(3.0)), (1.0, Some(1.0)), (1.0, None), (1.0, Some(2.0)), (2.0, Some(7.0)), (3.0, None)];
        let columns = by_x(points).expect("columns");
        assert_eq!(columns, [(1.0, vec![1.0, 2.0, 3.0]), (2.0, vec![7.0])]);
        assert_eq!(quantile(&columns[0].1, 0.5), 2.0);
        assert_eq!(quantile(&columns[0].1, 0.25), 1.5);
        assert_eq!(quantile(&columns[1].1, 0.95), 7.0);
    }
}
