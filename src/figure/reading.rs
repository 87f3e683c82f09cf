//! Where values lie on a figure of curves: for whoever points at it, and for whoever draws the next one on the same axes.

use super::curves;
use super::description::{CurveStyle, Figure, Plot, Series};
pub use super::geometry::Reading;

/// Where values lie on a figure; nothing for one without curves, or that cannot be drawn.
pub fn reading(figure: &Figure) -> Option<Reading> {
    figure.check().ok()?;
    curves::compose(figure, &curves_of(figure)?, None).ok()?.reading
}

/// The curves of a figure, each with its style; nothing for a figure of another kind.
pub fn curves_of(figure: &Figure) -> Option<Vec<(CurveStyle, &Series)>> {
    match &figure.plot {
        Plot::Curves { style, series } => Some(series.iter().map(|one| (*style, one)).collect()),
        Plot::Layers(layers) => Some(layers.iter().map(|(style, one)| (*style, one)).collect()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::description::Axis;
    use super::*;

    #[test]
    fn a_value_lies_where_the_reading_says() {
        let series = vec![Series::new("berry", vec![(0.0, 10.0), (100.0, 50.0)])];
        let figure = Figure::curves(Axis::new("length").unit("ft"), Axis::new("pressure").unit("psi"), CurveStyle::Lines, series);
        let found = reading(&figure).expect("curves");
        assert_eq!(found.x, (0.0, 100.0));
        assert!(found.y.0 <= 10.0 && found.y.1 >= 50.0);
        let share = |value: f64| (value - found.y.0) / (found.y.1 - found.y.0);
        let px = |value: f64| found.plot[3] - share(value) * (found.plot[3] - found.plot[1]);
        let drawn = super::super::svg(&figure).expect("drawn");
        let line = format!("points=\"{:.2},{:.2} {:.2},{:.2}\"", found.plot[0], px(10.0), found.plot[2], px(50.0));
        assert!(drawn.contains(&line), "{line} in {drawn}");
        // On given axes the next figure has the same ones.
        let mut next = figure.clone();
        (next.x.range, next.y.range) = (Some(found.x), Some((0.0, 80.0)));
        assert_eq!(reading(&next).map(|next| (next.x, next.y)), Some((found.x, (0.0, 80.0))));
    }
}
