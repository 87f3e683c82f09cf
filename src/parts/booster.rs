//! The booster pump and its curve: straight lines between given points of flow and rise.

use super::error::{PartError, contradiction};
use super::kind::{Law, Placing, Spec, Traits};
use super::number::{NOT_NEGATIVE, Number, POSITIVE, Rule};
use super::part::Part;
use crate::quantity::dim;
use std::sync::Arc;
use thiserror::Error;

/// Net positive suction head that a small garden pump is taken to require where none is given, m: 10 ft. Common practice, no
/// source; makers state 2 to 4 m for pumps of this size.
pub const USUAL_NPSH_M: f64 = 10.0 * 0.3048;

pub(super) const BOOSTER: Spec = Spec {
    word: "booster",
    about: "a booster pump by points of its curve; off, water flows through it freely",
    placing: Placing::Inline,
    traits: Traits { pushes_back: true, ..Traits::PLAIN },
    numbers: &[
        Number::new("speed", dim::NUMBER, "", POSITIVE, "speed as a share of that of the curve (affinity laws)").or(1.0),
        Number::new("efficiency", dim::NUMBER, "", Rule::Share, "water power over electrical power"),
        Number::new("watts", dim::POWER, "W", POSITIVE, "electrical power while it runs"),
        Number::new("npsh", dim::LENGTH, "ft", NOT_NEGATIVE, "net positive suction head it requires; 10 ft is taken where its maker gives none"),
        Number::new("price", dim::MONEY, "$", NOT_NEGATIVE, "what it costs"),
        Number::new("rating", dim::PRESSURE, "psi", POSITIVE, "working pressure it is rated for"),
        Number::new("dry_stop", dim::PRESSURE, "psi", Rule::Any, "inlet pressure at or below which a guard stops it for good"),
    ],
    check: check_booster,
    law: |part, _| {
        let Some(curve) = part.curve() else { return Law::Free };
        let speed = part.value(0);
        let curve = if speed == 1.0 { Arc::clone(curve) } else { Arc::new(curve.at_speed(speed)) };
        Law::Booster { curve }
    },
};

fn check_booster(part: &Part) -> Result<(), PartError> {
    if part.curve().is_none() {
        return Err(contradiction(
            part,
            "it has no curve".into(),
            "give points of flow and rise, as in booster([[0.gpm, 40.psi], [10.gpm, 20.psi]])",
        ));
    }
    Ok(())
}

/// Why points do not make a pump curve.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum CurveError {
    #[error("its curve needs at least two points, found {found}")]
    TooFew { found: usize },
    #[error("point {point} of its curve is not finite or has a negative flow")]
    NotFinite { point: usize },
    #[error("the flow of its curve does not rise from point {point} to the next")]
    FlowNotRising { point: usize },
    #[error("the pressure rise of its curve grows from point {point} to the next, though the flow grows too")]
    RiseGrowing { point: usize },
    #[error("its curve never pushes: no point has a rise above zero")]
    NeverPushes,
}

impl CurveError {
    pub fn hint(&self) -> &'static str {
        match self {
            CurveError::TooFew { .. } => {
                "give shut-off and at least one running point, as in [[0.gpm, 40.psi], [10.gpm, 20.psi]]"
            }
            CurveError::RiseGrowing { .. } => {
                "a rise that grows with flow has no stable operating point; leave the hump out or check whether flow and rise are swapped"
            }
            _ => "give points in the order of rising flow, as in [[0.gpm, 40.psi], [10.gpm, 20.psi]]",
        }
    }
}

/// Straight pieces that stand in for a three-point parabola: the rise is off by at most a two-thousandth of shut-off.
const PIECES: usize = 24;

/// Points of the parabola through shut-off (Pa at no flow), one running point (m3/s, Pa) and run-out (m3/s at no rise).
///
/// Errors: points that no falling curve runs through.
pub fn three_point_curve(shut_off_pa: f64, running: (f64, f64), run_out_m3_per_s: f64) -> Result<Vec<(f64, f64)>, CurveError> {
    let (flow, rise) = running;
    if !(shut_off_pa > 0.0 && shut_off_pa.is_finite()) {
        return Err(CurveError::NeverPushes);
    }
    if !(flow > 0.0 && run_out_m3_per_s > flow) {
        return Err(CurveError::FlowNotRising { point: 2 });
    }
    // h = shut_off + b q + c q^2 through (flow, rise) and (run_out, 0).
    let to_running = (rise - shut_off_pa) / flow;
    let to_run_out = -shut_off_pa / run_out_m3_per_s;
    let c = (to_run_out - to_running) / (run_out_m3_per_s - flow);
    let b = to_running - c * flow;
    let points: Vec<(f64, f64)> = (0..=PIECES)
        .map(|index| run_out_m3_per_s * index as f64 / PIECES as f64)
        .map(|q| (q, shut_off_pa + q * (b + c * q)))
        .collect();
    Curve::new(&points).map(|_| points)
}

/// A pump curve: rise over flow, straight between points, the last piece extended, the first rise kept for reverse flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// Points of flow (m3/s) and rise (Pa): at least two, flows rising from zero or above, rises never growing.
    pub fn new(points: &[(f64, f64)]) -> Result<Curve, CurveError> {
        if points.len() < 2 {
            return Err(CurveError::TooFew { found: points.len() });
        }
        for (index, (flow, rise)) in points.iter().enumerate() {
            if !flow.is_finite() || !rise.is_finite() || *flow < 0.0 {
                return Err(CurveError::NotFinite { point: index + 1 });
            }
        }
        for (index, pair) in points.windows(2).enumerate() {
            if pair[1].0 <= pair[0].0 {
                return Err(CurveError::FlowNotRising { point: index + 1 });
            }
            if pair[1].1 > pair[0].1 {
                return Err(CurveError::RiseGrowing { point: index + 1 });
            }
        }
        if points[0].1 <= 0.0 {
            return Err(CurveError::NeverPushes);
        }
        Ok(Curve { points: points.to_vec() })
    }

    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Rise (Pa) and its slope (Pa s/m3, zero or below) at a flow.
    #[inline]
    pub fn rise(&self, flow_m3_per_s: f64) -> (f64, f64) {
        let first = self.points[0];
        // At no flow the slope is that of the way it is meant to go: a flat one would send a step far past it.
        if flow_m3_per_s < 0.0 && first.0 == 0.0 {
            return (first.1, 0.0);
        }
        let next =
            self.points[1..].iter().position(|point| flow_m3_per_s <= point.0).map_or(self.points.len() - 1, |index| index + 1);
        let (a, b) = (self.points[next - 1], self.points[next]);
        let slope = (b.1 - a.1) / (b.0 - a.0);
        // Left of a first point above zero flow the first piece goes on to zero flow, and stays there for reverse flow.
        let flow = flow_m3_per_s.max(0.0);
        (a.1 + slope * (flow - a.0), if flow_m3_per_s < 0.0 { 0.0 } else { slope })
    }

    /// The highest rise: that at no flow.
    pub fn dead_head_pa(&self) -> f64 {
        self.rise(0.0).0
    }

    /// The largest flow of its points, beyond which the last piece is extended.
    pub fn last_flow_m3_per_s(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// The curve at another speed: flow in proportion, rise with the square (affinity laws).
    pub fn at_speed(&self, share: f64) -> Curve {
        Curve { points: self.points.iter().map(|(flow, rise)| (flow * share, rise * share * share)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_lines_join_the_points_and_the_last_goes_on() {
        let curve = Curve::new(&[(0.0, 400.0), (1.0, 300.0), (2.0, 100.0)]).expect("a curve");
        assert_eq!(curve.rise(0.5), (350.0, -100.0));
        assert_eq!(curve.rise(3.0), (-100.0, -200.0));
        assert_eq!(curve.rise(-1.0), (400.0, 0.0));
        assert_eq!(curve.dead_head_pa(), 400.0);
    }

    #[test]
    fn nonsense_is_refused_with_the_point() {
        assert_eq!(Curve::new(&[(0.0, 1.0)]), Err(CurveError::TooFew { found: 1 }));
        assert_eq!(Curve::new(&[(0.0, 1.0), (1.0, 2.0)]), Err(CurveError::RiseGrowing { point: 1 }));
        assert_eq!(Curve::new(&[(0.0, 1.0), (0.0, 0.5)]), Err(CurveError::FlowNotRising { point: 1 }));
        assert_eq!(Curve::new(&[(0.0, f64::NAN), (1.0, 0.5)]), Err(CurveError::NotFinite { point: 1 }));
    }
}
