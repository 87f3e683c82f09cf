//! The front of a trade-off: the line along those points of a chart that no other beats on both axes.
//!
//! The rows of such a front as a table are the work of `pareto`.

use crate::figure::{Axis, CurveStyle, Figure, Plot, Series};
use crate::limits;
use crate::limits::{Ended, while_going_on};

/// Which ends of the axes are the better ones, for the front of a trade-off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ParetoFront {
    /// Which end of the x axis.
    pub x: Better,
    /// Which end of the y axis.
    pub y: Better,
}

/// Which end of an axis is the better one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Better {
    /// The lower end: costs, losses.
    Less,
    /// The upper end: pressures, flows.
    More,
}

/// Curves with the line along those points that no other beats on both axes. Errors: the evaluation is to end.
pub fn with_pareto_front(x: Axis, y: Axis, style: CurveStyle, series: Vec<Series>, front: ParetoFront) -> Result<Figure, Ended> {
    let points = series.iter().flat_map(|one| one.points.iter().filter_map(|(x, y)| Some((*x, (*y)?))));
    let line = front_of(while_going_on(points).collect(), front)?;
    let mut layers = vec![(CurveStyle::Lines, Series::new("Pareto front", line))];
    layers.extend(series.into_iter().map(|one| (style, one)));
    Ok(Figure::new(x, y, Plot::Layers(layers)))
}

/// The points that no other beats, in order along x. Errors: the evaluation is to end.
fn front_of(mut points: Vec<(f64, f64)>, front: ParetoFront) -> Result<Vec<(f64, f64)>, Ended> {
    let sign = |better: Better| if better == Better::Less { 1.0 } else { -1.0 };
    let (sx, sy) = (sign(front.x), sign(front.y));
    points.retain(|(x, y)| x.is_finite() && y.is_finite());
    let points = limits::sorted(points, move |a, b| (sx * a.0).total_cmp(&(sx * b.0)).then((sy * a.1).total_cmp(&(sy * b.1))))?;
    let mut best = f64::INFINITY;
    let beaten = |(_, y): &(f64, f64)| {
        let better = sy * y < best;
        best = best.min(sy * y);
        better
    };
    let line: Vec<(f64, f64)> = while_going_on(points).filter(beaten).collect();
    limits::sorted(line, |a, b| a.0.total_cmp(&b.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_front_holds_the_points_that_no_other_beats() {
        let points = vec![(20.0, 30.0), (40.0, 38.0), (50.0, 35.0), (60.0, 41.0), (60.0, 39.0), (70.0, 41.0)];
        let front = ParetoFront { x: Better::Less, y: Better::More };
        assert_eq!(front_of(points.clone(), front), Ok(vec![(20.0, 30.0), (40.0, 38.0), (60.0, 41.0)]));
        let other = ParetoFront { x: Better::More, y: Better::Less };
        assert_eq!(front_of(points, other), Ok(vec![(20.0, 30.0), (50.0, 35.0), (60.0, 39.0), (70.0, 41.0)]));
    }
}
