//! The curve of a pump: straight lines between given points of flow and rise, or a parabola through three.

use crate::quantity::{Preference, Quantity, dim};
use crate::told::Told;
use crate::unit_system::units_of_texts;
use thiserror::Error;

/// Why points do not make a pump curve.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum CurveError {
    /// One point alone has no slope.
    #[error("its curve needs at least two points, found {found}")]
    TooFew {
        /// Number of points given.
        found: usize,
    },
    /// A flow below zero, or a value that is infinite or not a number.
    #[error("point {point} of its curve is not finite or has a negative flow")]
    NotFinite {
        /// The first such point, counted from 1.
        point: usize,
    },
    /// Points are out of order, or two have the same flow.
    #[error("the flow of its curve does not increase from point {point} to the next")]
    FlowNotRising {
        /// The earlier point of the pair, counted from 1.
        point: usize,
    },
    /// A hump: with a rising piece a pump can have two operating points, one of them unstable.
    #[error("the boost of its curve increases with flow from point {point} to the next")]
    RiseGrowing {
        /// The earlier point of the pair, counted from 1.
        point: usize,
    },
    /// The first point, which has the highest rise, has none above zero.
    #[error("its curve has no boost above zero")]
    NeverPushes,
}

impl Told for CurveError {
    fn hint(&self) -> Option<String> {
        let points = units_of_texts().pick("[[0.gpm, 40.psi], [10.gpm, 20.psi]]", "[[0.lpm, 3.bar], [40.lpm, 1.5.bar]]");
        Some(match self {
            CurveError::TooFew { .. } => format!("give shut-off and at least one running point, as in {points}"),
            CurveError::RiseGrowing { .. } => {
                "a boost that increases with flow has no stable duty point; leave the hump out or check whether flow and boost are swapped"
                    .into()
            }
            _ => format!("give points in order of increasing flow, as in {points}"),
        })
    }
}

/// Share of its speed above which no speed of a pump is looked for.
const MOST_SPEED: f64 = 64.0;
/// Steps by which a speed is narrowed down.
const BISECTIONS: usize = 60;

/// Points of a parabola that are shown.
const SHOWN_POINTS: usize = 24;

/// A pump curve: rise over flow, straight between points or a parabola; beyond the last point it goes on straight, and the
/// first rise is kept for reverse flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
    parabola: Option<Parabola>,
    /// The units of flow and rise in which it was given.
    given_in: [Preference; 2],
}

/// Rise = shut_off + slope q + bend q^2, up to the last point of its curve.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Parabola {
    shut_off_pa: f64,
    slope: f64,
    bend: f64,
}

impl Parabola {
    fn at(&self, flow: f64) -> (f64, f64) {
        (self.shut_off_pa + flow * (self.slope + self.bend * flow), self.slope + 2.0 * self.bend * flow)
    }
}

impl Curve {
    /// Points of flow (m3/s) and rise (Pa), joined by straight lines.
    ///
    /// Errors: [`CurveError`] for fewer than two points, values that are not finite, flows below zero or not in rising order, a rise
    /// that grows with the flow, no rise above zero.
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
        Ok(Curve { points: points.to_vec(), parabola: None, given_in: [Preference::Usual; 2] })
    }

    /// The parabola through shut-off (Pa at no flow), one running point (m3/s, Pa) and run-out (m3/s at no rise); beyond
    /// run-out it goes on along its tangent there.
    ///
    /// Errors: [`CurveError`] for points through which no parabola runs that falls all the way.
    pub fn by_three(shut_off_pa: f64, running: (f64, f64), run_out_m3_per_s: f64) -> Result<Curve, CurveError> {
        let (flow, rise) = running;
        if !(shut_off_pa > 0.0 && shut_off_pa.is_finite()) {
            return Err(CurveError::NeverPushes);
        }
        if !(flow > 0.0 && run_out_m3_per_s > flow && run_out_m3_per_s.is_finite()) {
            return Err(CurveError::FlowNotRising { point: 2 });
        }
        // h = shut_off + b q + c q^2 through (flow, rise) and (max_flow, 0).
        let to_running = (rise - shut_off_pa) / flow;
        let to_run_out = -shut_off_pa / run_out_m3_per_s;
        let bend = (to_run_out - to_running) / (run_out_m3_per_s - flow);
        let parabola = Parabola { shut_off_pa, slope: to_running - bend * flow, bend };
        // A parabola that begins or ends level does so but for rounding.
        let level = 1e-9 * shut_off_pa / run_out_m3_per_s;
        // What is no number does not fall.
        let falls = |at: f64| parabola.at(at).1 <= level;
        if let Some(index) = [0.0, run_out_m3_per_s].iter().position(|&at| !falls(at)) {
            return Err(CurveError::RiseGrowing { point: index + 1 });
        }
        let shown = (0..=SHOWN_POINTS).map(|index| run_out_m3_per_s * index as f64 / SHOWN_POINTS as f64);
        let points = shown.map(|q| (q, parabola.at(q).0)).collect();
        Ok(Curve { points, parabola: Some(parabola), given_in: [Preference::Usual; 2] })
    }

    /// The same curve, shown in the units of a flow and of a rise.
    pub fn given_in(self, flow: Preference, rise: Preference) -> Curve {
        Curve { given_in: [flow, rise], ..self }
    }

    /// Its points of flow and rise, as [`Curve::points`], in the units in which it was given.
    pub fn quantities(&self) -> impl Iterator<Item = [Quantity; 2]> + '_ {
        let [of_flow, of_rise] = self.given_in;
        self.points.iter().map(move |&(flow, rise)| {
            [
                Quantity { preference: of_flow, ..Quantity::new(flow, dim::FLOW) },
                Quantity { preference: of_rise, ..Quantity::new(rise, dim::PRESSURE) },
            ]
        })
    }

    /// Its points of flow (m3/s) and rise (Pa); of a parabola, points on it that are even in flow, enough to draw it.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// What it runs through, in words.
    pub fn described(&self) -> String {
        if self.parabola.is_some() { "parabola".into() } else { format!("{} points", self.points.len()) }
    }

    /// The flows at which its slope jumps, m3/s.
    pub fn corners(&self) -> impl Iterator<Item = f64> + '_ {
        let inner = &self.points[1..self.points.len() - 1];
        inner.iter().filter(|_| self.parabola.is_none()).map(|point| point.0)
    }

    /// Rise (Pa) and its slope (Pa s/m3, zero or below) at a flow.
    #[inline]
    pub fn rise(&self, flow_m3_per_s: f64) -> (f64, f64) {
        if let Some(parabola) = &self.parabola {
            return self.rise_of(parabola, flow_m3_per_s);
        }
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

    /// How many pieces it has, each straight or a parabola.
    pub fn number_of_pieces(&self) -> usize {
        if self.parabola.is_some() { 2 } else { self.points.len() - 1 }
    }

    /// One of its pieces: the flow above which it counts, the rise there, and the factors of what the flow is above that and of its square. The first
    /// piece counts below that flow too, down to no flow, whose rise is kept for reverse flow.
    pub fn piece(&self, piece: usize) -> [f64; 4] {
        match &self.parabola {
            Some(parabola) if piece == 0 => [0.0, parabola.shut_off_pa, parabola.slope, parabola.bend],
            Some(parabola) => {
                let (rise_pa, slope) = parabola.at(self.last_flow_m3_per_s());
                [self.last_flow_m3_per_s(), rise_pa, slope, 0.0]
            }
            None => {
                let (from, to) = (self.points[piece], self.points[piece + 1]);
                [from.0, from.1, (to.1 - from.1) / (to.0 - from.0), 0.0]
            }
        }
    }

    fn rise_of(&self, parabola: &Parabola, flow_m3_per_s: f64) -> (f64, f64) {
        if flow_m3_per_s < 0.0 {
            return (parabola.shut_off_pa, 0.0);
        }
        let last = self.last_flow_m3_per_s();
        let (rise, slope) = parabola.at(flow_m3_per_s.min(last));
        (rise + slope * (flow_m3_per_s - last).max(0.0), slope)
    }

    /// Shut-off (dead head) pressure rise, the highest: that at no flow, Pa.
    pub fn dead_head_pa(&self) -> f64 {
        self.rise(0.0).0
    }

    /// The largest flow of its points, beyond which it goes on straight, m3/s.
    pub fn last_flow_m3_per_s(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// The curve at a share of its speed, above zero: flows in proportion, rises with the square. Source:
    /// [`Affinity`](crate::laws::pump::Affinity).
    pub fn at_speed(&self, share: f64) -> Curve {
        self.scaled(share, share * share)
    }

    /// The share of its speed at which it adds a rise (Pa) at a flow (m3/s); none of its speed for no flow and no rise.
    ///
    /// At a share n the rise at flow q is n^2 H(q / n), by the affinity laws. A faster pump adds more at every flow, so there is one share.
    pub fn speed_for(&self, flow_m3_per_s: f64, rise_pa: f64) -> f64 {
        let rise_at = |share: f64| share * share * self.rise(flow_m3_per_s / share).0;
        let falls_short = |share: f64| rise_at(share) < rise_pa;
        let (mut low, mut high) = (0.0, 1.0);
        while falls_short(high) && high < MOST_SPEED {
            high *= 2.0;
        }
        // Each step halves the bracket: after these it is as narrow as numbers are.
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if falls_short(middle) { low = middle } else { high = middle }
        }
        high
    }

    /// The same shape with all flows and rises multiplied by shares above zero.
    pub fn scaled(&self, flow_share: f64, rise_share: f64) -> Curve {
        let parabola = |of: &Parabola| Parabola {
            shut_off_pa: of.shut_off_pa * rise_share,
            slope: of.slope * rise_share / flow_share,
            bend: of.bend * rise_share / (flow_share * flow_share),
        };
        Curve {
            points: self.points.iter().map(|(flow, rise)| (flow * flow_share, rise * rise_share)).collect(),
            parabola: self.parabola.as_ref().map(parabola),
            given_in: self.given_in,
        }
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
    fn a_parabola_meets_its_three_points_and_goes_on_along_its_tangent() {
        let curve = Curve::by_three(48.0, (6.0, 36.0), 12.0).expect("a curve");
        // 48 - q^2 / 3 runs through all three.
        for q in [0.0, 1.7, 3.0, 6.0, 9.3, 12.0] {
            let (rise, slope) = curve.rise(q);
            assert!((rise - (48.0 - q * q / 3.0)).abs() < 1e-12 && (slope + 2.0 * q / 3.0).abs() < 1e-12, "{q}: {rise}");
        }
        assert_eq!(curve.rise(13.0), (-8.0, -8.0));
        assert_eq!(curve.rise(-1.0), (48.0, 0.0));
        assert_eq!(curve.corners().count(), 0);
        let slow = curve.at_speed(0.5);
        assert!((slow.rise(2.0).0 - 0.25 * curve.rise(4.0).0).abs() < 1e-12);
        assert!(Curve::by_three(48.0, (6.0, 30.0), 12.0).is_ok());
        assert_eq!(Curve::by_three(48.0, (6.0, 60.0), 12.0), Err(CurveError::RiseGrowing { point: 1 }));
        assert_eq!(Curve::by_three(48.0, (6.0, 1.0), 12.0), Err(CurveError::RiseGrowing { point: 2 }));
        assert_eq!(Curve::by_three(48.0, (6.0, f64::NAN), 12.0), Err(CurveError::RiseGrowing { point: 1 }));
    }

    #[test]
    fn the_pieces_of_a_curve_are_the_curve() {
        let curves = [
            Curve::new(&[(0.0, 400.0), (1.0, 300.0), (2.0, 100.0)]).expect("a curve"),
            Curve::new(&[(0.5, 400.0), (1.0, 300.0)]).expect("a curve"),
            Curve::by_three(48.0, (6.0, 30.0), 12.0).expect("a curve"),
        ];
        for curve in curves {
            for step in -10..=150 {
                let flow = 0.1 * f64::from(step);
                let counts = |piece: &usize| *piece == 0 || curve.piece(*piece)[0] < flow;
                let piece = (0..curve.number_of_pieces()).rfind(counts).expect("the first");
                let [from, rise, slope, bend] = curve.piece(piece);
                let past = flow.max(0.0) - from;
                let found = (rise + past * (slope + bend * past), if flow < 0.0 { 0.0 } else { slope + 2.0 * bend * past });
                let expected = curve.rise(flow);
                assert!((found.0 - expected.0).abs() < 1e-11 && (found.1 - expected.1).abs() < 1e-11, "{flow}: {found:?}");
            }
        }
    }

    #[test]
    fn nonsense_is_refused_with_the_point() {
        assert_eq!(Curve::new(&[(0.0, 1.0)]), Err(CurveError::TooFew { found: 1 }));
        assert_eq!(Curve::new(&[(0.0, 1.0), (1.0, 2.0)]), Err(CurveError::RiseGrowing { point: 1 }));
        assert_eq!(Curve::new(&[(0.0, 1.0), (0.0, 0.5)]), Err(CurveError::FlowNotRising { point: 1 }));
        assert_eq!(Curve::new(&[(0.0, f64::NAN), (1.0, 0.5)]), Err(CurveError::NotFinite { point: 1 }));
    }
}
