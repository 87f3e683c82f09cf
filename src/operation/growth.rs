//! How a curve grows by a panel: where gauges change and equilibria lie is found first, then the flows between are sampled.

use super::frame::{Frame, Tolerance};
use super::storage::Storage;
use super::tolerances::{
    BREAKS_OFF, FEW_BREAKS, LEAST_WIDTH_PA, LEFT_TO_ROOT, LOCATED_TO_PA, MOST_BREAKS, MOST_TRIES, NO_FLOW_M3_PER_S,
    SETTLED_WITHIN_PA, WIDEST_NUDGE_PA,
};
use crate::hydraulics::SolveError;
use crate::numeric::chebyshev::{POINTS, coefficients, points};
use crate::numeric::{End, narrow};

/// What a curve asks for: the state at a pressure.
pub type Evaluate<'a> = dyn FnMut(f64, &mut Frame) -> Result<(), SolveError> + 'a;

/// A piece of a curve in which all is smooth.
pub struct Panel {
    pub low: f64,
    pub high: f64,
    /// Coefficients of all integrands, one after another.
    pub series: Vec<f64>,
    pub raised: Vec<bool>,
    pub time_s: f64,
    pub integrals: Vec<f64>,
}

/// The edge from which a curve grows.
#[derive(Clone, Debug)]
pub struct Edge {
    pub at: f64,
    pub raised: Vec<bool>,
    pub net: f64,
    pub width: f64,
    /// Nothing lies beyond: the state comes to rest here.
    pub settled: bool,
    /// An equilibrium that was found ahead.
    pub root: Option<Root>,
}

#[derive(Clone, Copy, Debug)]
pub struct Root {
    at: f64,
    /// Flow does not fade toward it but breaks off.
    abrupt: bool,
}

impl Panel {
    /// A pressure (Pa) of the panel as the argument of its series: -1 at its low end, 1 at its high end.
    #[inline]
    pub fn scaled(&self, at: f64) -> f64 {
        ((at - self.low) - (self.high - at)) / (self.high - self.low)
    }
}

/// What a try for the next panel gives.
enum Next {
    /// A panel, or nothing at an equilibrium.
    Found(Option<Panel>),
    /// A break was crossed, and the edge is past it.
    Crossed,
}

/// Growing by one panel.
pub struct Growth {
    pub way: f64,
    pub storage: usize,
    pub sign: f64,
    pub tolerance: Tolerance,
}

impl Growth {
    /// The next panel from an edge, which moves on; `None` when the edge has come to an equilibrium. Errors: a state has no
    /// steady solution.
    pub fn next(&self, edge: &mut Edge, store: &Storage, evaluate: &mut Evaluate) -> Result<Option<Panel>, SolveError> {
        for crossed in 0..=MOST_BREAKS {
            if let Next::Found(panel) = self.step(edge, store, evaluate)? {
                return Ok(panel);
            }
            // A gauge close to zero is rounding, and may change many times in a row: step over it, wider each time.
            let nudge_pa = LOCATED_TO_PA * 1.5f64.powi(crossed as i32 - FEW_BREAKS);
            if (LOCATED_TO_PA..=WIDEST_NUDGE_PA).contains(&nudge_pa) {
                let mut frame = Frame::default();
                evaluate(edge.at + self.way * nudge_pa, &mut frame)?;
                if self.pushes(&frame) > 0.0 {
                    edge.at += self.way * nudge_pa;
                    edge.net = frame.integrands[self.storage];
                    edge.raised.clone_from(&frame.raised);
                }
            }
        }
        edge.settled = true;
        Ok(None)
    }

    /// One try for the next panel; an edge that stands right before a break only crosses it.
    fn step(&self, edge: &mut Edge, store: &Storage, evaluate: &mut Evaluate) -> Result<Next, SolveError> {
        let mut frame = Frame::default();
        let mut far = edge.at + self.way * edge.width;
        let mut ends_in_root = false;
        if edge.root.is_none() {
            evaluate(far, &mut frame)?;
            if self.pushes(&frame) <= 0.0 {
                edge.root = Some(self.find_root(edge, far, evaluate)?);
            }
        }
        if let Some(root) = edge.root {
            let left = (root.at - edge.at).abs();
            if left <= SETTLED_WITHIN_PA {
                edge.settled = true;
                return Ok(Next::Found(None));
            }
            if root.abrupt {
                if (far - root.at) * self.way >= 0.0 {
                    far = root.at;
                    ends_in_root = true;
                }
            } else if (far - root.at) * self.way >= -LEFT_TO_ROOT * left {
                far = root.at - self.way * LEFT_TO_ROOT * left;
            }
        }
        let mut beyond = far;
        for _ in 0..MOST_TRIES {
            if (far - edge.at).abs() < LEAST_WIDTH_PA {
                far = edge.at + self.way * LEAST_WIDTH_PA;
                beyond = far;
            }
            evaluate(far, &mut frame)?;
            if frame.raised != edge.raised {
                (far, beyond) = self.find_break(edge, far, evaluate)?;
                ends_in_root = false;
                if (far - edge.at).abs() <= LOCATED_TO_PA {
                    // The edge stands right before the break.
                    evaluate(beyond, &mut frame)?;
                    edge.raised.clone_from(&frame.raised);
                    edge.net = frame.integrands[self.storage];
                    edge.at = beyond;
                    return Ok(Next::Crossed);
                }
            }
            let (low, high) = if self.way > 0.0 { (edge.at, far) } else { (far, edge.at) };
            match self.sample(low, high, &edge.raised, store, evaluate)? {
                Sample::Good(panel) => {
                    let width = (far - edge.at).abs();
                    evaluate(beyond, &mut frame)?;
                    edge.at = beyond;
                    edge.raised.clone_from(&frame.raised);
                    edge.net = frame.integrands[self.storage];
                    edge.width = (2.0 * width).clamp(1.0, 0.3 * (beyond.abs() + 1e5));
                    edge.settled = ends_in_root;
                    return Ok(Next::Found(Some(panel)));
                }
                Sample::Breaks(inside) => {
                    far = inside;
                    beyond = far;
                }
                Sample::Coarse => {
                    far = edge.at + 0.5 * (far - edge.at);
                    beyond = far;
                }
            }
            ends_in_root = false;
        }
        edge.settled = true;
        Ok(Next::Found(None))
    }

    /// Net inflow in the direction of the curve, above what counts as none.
    fn pushes(&self, frame: &Frame) -> f64 {
        self.sign * frame.integrands[self.storage] - NO_FLOW_M3_PER_S
    }

    fn find_root(&self, edge: &Edge, far: f64, evaluate: &mut Evaluate) -> Result<Root, SolveError> {
        let mut frame = Frame::default();
        let start = self.sign * edge.net - NO_FLOW_M3_PER_S;
        let (before, _) = located(edge.at, far, |at| {
            evaluate(at, &mut frame)?;
            Ok(self.pushes(&frame))
        })?;
        evaluate(before, &mut frame)?;
        let abrupt = self.pushes(&frame) > BREAKS_OFF * start;
        Ok(Root { at: before, abrupt })
    }

    /// The first place beyond the edge where a gauge changes: the last point before it and the first after it.
    fn find_break(&self, edge: &Edge, far: f64, evaluate: &mut Evaluate) -> Result<(f64, f64), SolveError> {
        let mut frame = Frame::default();
        let (mut before, mut after) = (edge.at, far);
        for _ in 0..edge.raised.len() + 1 {
            evaluate(after, &mut frame)?;
            let Some(gauge) = (0..edge.raised.len()).find(|&gauge| frame.raised[gauge] != edge.raised[gauge]) else { break };
            let sign = if edge.raised[gauge] { 1.0 } else { -1.0 };
            (before, after) = located(edge.at, after, |at| {
                evaluate(at, &mut frame)?;
                // Zero counts as raised.
                let value = sign * frame.gauges[gauge];
                Ok(if sign > 0.0 && value == 0.0 { f64::MIN_POSITIVE } else { value })
            })?;
            evaluate(before, &mut frame)?;
            if frame.raised == edge.raised {
                break;
            }
            after = before;
            if before == edge.at {
                // Nothing lies before the edge.
                break;
            }
        }
        Ok((before, after))
    }

    fn sample(
        &self,
        low: f64,
        high: f64,
        raised: &[bool],
        store: &Storage,
        evaluate: &mut Evaluate,
    ) -> Result<Sample, SolveError> {
        let mut frame = Frame::default();
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
        let mut values: Vec<[f64; POINTS]> = Vec::new();
        let order: [usize; POINTS] = std::array::from_fn(|index| if self.way > 0.0 { index } else { POINTS - 1 - index });
        for index in order {
            let at = match index {
                0 => low,
                last if last == POINTS - 1 => high,
                _ => middle + half * points()[index],
            };
            evaluate(at, &mut frame)?;
            // At either end a gauge may read zero, and fall to either side: the far end was looked at before.
            let on_edge = at == low || at == high;
            if frame.raised != raised && !on_edge && high - low > 2.0 * LEAST_WIDTH_PA {
                return Ok(Sample::Breaks(at));
            }
            values.resize(frame.integrands.len(), [0.0; POINTS]);
            for (values, value) in values.iter_mut().zip(&frame.integrands) {
                values[index] = *value;
            }
        }
        let net = &values[self.storage];
        let least = net.iter().fold(f64::INFINITY, |least, value| least.min(self.sign * value));
        if least <= 0.0 && high - low > 2.0 * LEAST_WIDTH_PA {
            return Ok(Sample::Coarse);
        }
        let largest = values.iter().flatten().fold(0.0f64, |most, value| most.max(value.abs())).max(least);
        let slowness = store.m3_per_pa(low).max(store.m3_per_pa(high)) * (high - low) / least.max(NO_FLOW_M3_PER_S);
        let mut all = Vec::with_capacity(values.len() * POINTS);
        let powers = frame.powers;
        let number = values.len();
        for (index, values) in values.iter().enumerate() {
            let found = coefficients(values);
            let tail = found[POINTS - 1].abs().max(found[POINTS - 2].abs()).max(0.1 * found[POINTS - 3].abs());
            let scale = match index {
                _ if index == self.storage => least,
                _ if index + powers >= number => values.iter().fold(1e-300, |most: f64, value| most.max(value.abs())),
                _ => largest,
            };
            let share = tail / scale;
            let passes = share <= self.tolerance.share || share * slowness <= self.tolerance.time_s;
            if !passes && high - low > 2.0 * LEAST_WIDTH_PA {
                return Ok(Sample::Coarse);
            }
            all.extend(found);
        }
        let raised = raised.to_vec();
        Ok(Sample::Good(Panel { low, high, series: all, raised, time_s: 0.0, integrals: Vec::new() }))
    }
}

enum Sample {
    Good(Panel),
    /// A gauge changes before this pressure.
    Breaks(f64),
    Coarse,
}

/// Locates a change of sign, from above zero at `before` to zero or below at `after`: the last point before it, the first after.
/// Where there is no change it is at the end that looks so.
fn located(before: f64, after: f64, mut value: impl FnMut(f64) -> Result<f64, SolveError>) -> Result<(f64, f64), SolveError> {
    // Zero counts as after; there the search is not to end, for the last point before it is asked for too.
    let mut value = |x: f64| value(x).map(|value| if value > 0.0 { value } else { value.min(-f64::MIN_POSITIVE) });
    let (above, below) = (End { x: before, value: value(before)? }, End { x: after, value: value(after)? });
    if above.value < 0.0 {
        return Ok((before, before));
    }
    if below.value > 0.0 {
        return Ok((after, after));
    }
    let (above, below) = narrow(above, below, LOCATED_TO_PA, value)?;
    Ok((above.x, below.x))
}
