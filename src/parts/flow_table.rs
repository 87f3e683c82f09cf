//! A discharge known by points of pressure and flow: a power law between neighboring points, so that every piece is smooth
//! and rises, as a head's rated table.

use crate::laws::powers::Powers;
use crate::numeric::ln;
use crate::told::Told;
use crate::unit_system::example;
use thiserror::Error;

/// Why points do not make a discharge.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum TableError {
    /// One point alone has no slope.
    #[error("its table needs at least two points, found {found}")]
    TooFew {
        /// Number of points given.
        found: usize,
    },
    /// A pressure or flow that is zero, below it, infinite or not a number.
    #[error("point {point} of its table must have a pressure and a flow above zero")]
    NotPositive {
        /// The first such point, counted from 1.
        point: usize,
    },
    /// Points are out of order, or the flow does not grow with the pressure.
    #[error("pressure and flow of its table must both rise from point {point} to the next")]
    NotRising {
        /// The earlier point of the pair, counted from 1.
        point: usize,
    },
}

impl Told for TableError {
    fn hint(&self) -> Option<String> {
        Some(example(
            "give points in the order of rising pressure, as in [[25.psi, 2.gpm], [40.psi, 2.6.gpm], [60.psi, 3.2.gpm]]",
            "give points in the order of rising pressure, as in [[2.bar, 8.lpm], [3.bar, 10.lpm], [4.bar, 11.5.lpm]]",
        ))
    }
}

/// Discharge over pressure by points.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowTable {
    /// Flow, pressure, and the exponent of the pressure over flow law up to the next point.
    points: Vec<(f64, f64, f64)>,
}

impl FlowTable {
    /// Points of gauge pressure (Pa) and flow (m3/s), both above zero and rising.
    ///
    /// Below the first point the discharge follows the square-root law of a nozzle, above the last point it goes on as
    /// between the last two.
    ///
    /// Errors: [`TableError`] for fewer than two points, values that are not above zero, points out of order.
    pub fn new(points: &[(f64, f64)]) -> Result<FlowTable, TableError> {
        if points.len() < 2 {
            return Err(TableError::TooFew { found: points.len() });
        }
        let sound = |value: f64| value.is_finite() && value > 0.0;
        if let Some(index) = points.iter().position(|&(pressure, flow)| !sound(pressure) || !sound(flow)) {
            return Err(TableError::NotPositive { point: index + 1 });
        }
        let mut known = Vec::with_capacity(points.len());
        for (index, pair) in points.windows(2).enumerate() {
            let (from, to) = (pair[0], pair[1]);
            if to.0 <= from.0 || to.1 <= from.1 {
                return Err(TableError::NotRising { point: index + 1 });
            }
            known.push((from.1, from.0, ln(to.0 / from.0) / ln(to.1 / from.1)));
        }
        let last = points[points.len() - 1];
        let exponent = known[known.len() - 1].2;
        known.push((last.1, last.0, exponent));
        Ok(FlowTable { points: known })
    }

    /// Gauge pressure upstream of the outlet (Pa) at a flow, and its slope (Pa s/m3); odd in the flow.
    pub fn pressure(&self, flow_m3_per_s: f64) -> (f64, f64) {
        let piece = self.points.partition_point(|point| point.0 <= flow_m3_per_s.abs());
        let loss = self.piece(piece).1.at(flow_m3_per_s);
        (loss.loss_pa, loss.slope_pa_s_per_m3)
    }

    /// How many pieces it has.
    pub fn number_of_pieces(&self) -> usize {
        self.points.len() + 1
    }

    /// The flow (m3/s) from which on one of its pieces counts, and the law of that; the first is that below all points.
    pub fn piece(&self, piece: usize) -> (f64, Powers<f64>) {
        let (flow, pressure, exponent) = self.points[piece.saturating_sub(1)];
        if piece == 0 { (0.0, Powers::through(flow, pressure, 2.0)) } else { (flow, Powers::through(flow, pressure, exponent)) }
    }

    /// Flow (m3/s) at a gauge pressure upstream of the outlet (Pa); zero at or below zero.
    pub fn flow(&self, pressure_pa: f64) -> f64 {
        if pressure_pa <= 0.0 {
            return 0.0;
        }
        let (at_flow, at_pressure, exponent) = match self.points.partition_point(|point| point.1 <= pressure_pa) {
            0 => (self.points[0].0, self.points[0].1, 2.0),
            next => self.points[next - 1],
        };
        at_flow * (pressure_pa / at_pressure).powf(1.0 / exponent)
    }

    /// The same discharge with all flows multiplied, as by wear.
    pub fn times(&self, factor: f64) -> FlowTable {
        FlowTable { points: self.points.iter().map(|&(flow, pressure, exponent)| (flow * factor, pressure, exponent)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn points_are_met_and_nonsense_is_refused() {
        let table = FlowTable::new(&[(1e5, 1e-4), (2e5, 1.5e-4), (4e5, 2e-4)]).expect("a table");
        assert!((table.flow(2e5) - 1.5e-4).abs() < 1e-15);
        assert!((table.pressure(1.5e-4).0 - 2e5).abs() < 1e-6);
        // Below the first point the square-root law: a quarter of the pressure gives half the flow.
        assert!((table.flow(0.25e5) - 0.5e-4).abs() < 1e-15);
        assert_eq!(FlowTable::new(&[(1e5, 1e-4)]), Err(TableError::TooFew { found: 1 }));
        assert_eq!(FlowTable::new(&[(1e5, 1e-4), (2e5, 1e-4)]), Err(TableError::NotRising { point: 1 }));
        assert_eq!(FlowTable::new(&[(0.0, 1e-4), (2e5, 1e-4)]), Err(TableError::NotPositive { point: 1 }));
    }

    proptest! {
        #[test]
        fn flow_undoes_pressure_and_the_slope_is_the_derivative(flow in 1e-6f64..1e-3) {
            let table = FlowTable::new(&[(1e5, 1e-4), (2e5, 1.5e-4), (4e5, 2e-4)]).expect("a table");
            let (pressure, slope) = table.pressure(flow);
            prop_assert!((table.flow(pressure) - flow).abs() < 1e-12 * flow.max(1e-6));
            let corner = [1e-4, 1.5e-4, 2e-4].iter().any(|at| (flow - at).abs() < 1e-9);
            let step = 1e-6 * flow;
            let difference = (table.pressure(flow + step).0 - table.pressure(flow - step).0) / (2.0 * step);
            prop_assert!(corner || (difference - slope).abs() < 1e-5 * slope);
        }
    }
}
