//! One storage between two equilibria: dP/dt = q(P) / C(P) as a table that is made as far as runs reach, and then read.
//!
//! Each panel holds all flows as Chebyshev series in the pressure of the storage. Panels end where a gauge changes sign
//! (a kink or an event), found by root finding, so that inside them everything is smooth. Time and volumes of a run are
//! integrals over the panels that it passes. In between two equilibria q keeps its sign, so a run goes one way.

use super::chebyshev::{POINTS, coefficients, gauss, points, series};
use super::gauge::NO_FLOW_M3_PER_S;
use super::machine::Frame;
use super::storage::Storage;
use crate::hydraulics::SolveError;

/// What a curve asks for: the state at a pressure.
pub type Evaluate<'a> = dyn FnMut(f64, &mut Frame) -> Result<(), SolveError> + 'a;

/// Error of a panel that is let pass: as a share of its flows, or in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    pub share: f64,
    pub time_s: f64,
}

impl Tolerance {
    pub const USUAL: Tolerance = Tolerance { share: 1e-10, time_s: 1e-7 };

    pub fn times(self, factor: f64) -> Tolerance {
        Tolerance { share: self.share * factor, time_s: self.time_s * factor }
    }
}

/// A run ends this near to an equilibrium, Pa.
const SETTLED_WITHIN_PA: f64 = 1e-3;
/// Kinks are located to this, Pa.
const LOCATED_TO_PA: f64 = 1e-7;
const LEAST_WIDTH_PA: f64 = 1e-6;
/// Most panels a curve may grow to; more tell of laws that are not smooth anywhere.
const MOST_PANELS: usize = 5000;

struct Panel {
    low: f64,
    high: f64,
    /// Coefficients of all integrands, one after another.
    series: Vec<f64>,
    raised: Vec<bool>,
    time_s: f64,
    integrals: Vec<f64>,
}

/// The edge from which a curve grows.
#[derive(Clone, Debug)]
struct Edge {
    at: f64,
    raised: Vec<bool>,
    net: f64,
    width: f64,
    /// Nothing lies beyond: the state comes to rest here.
    settled: bool,
    /// An equilibrium that was found ahead.
    root: Option<Root>,
}

/// After so many breaks in a row, without a panel between, the state is taken to rest on them.
const MOST_BREAKS: usize = 50;

#[derive(Clone, Copy, Debug)]
struct Root {
    at: f64,
    /// Flow does not fade towards it but breaks off.
    abrupt: bool,
}

/// A part of a run.
#[derive(Clone, Debug, Default)]
pub struct Stretch {
    pub time_s: f64,
    pub integrals: Vec<f64>,
    /// How long each gauge was raised, s.
    pub raised_s: Vec<f64>,
    pub end: f64,
    /// The gauges at its end, on the far side of an event.
    pub raised: Vec<bool>,
    pub settled: bool,
    /// A gauge that is watched has changed.
    pub event: bool,
}

/// When a change of a gauge ends a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watch {
    Never,
    Rise,
    Fall,
    Both,
}

impl Watch {
    pub fn sees(self, before: bool, after: bool) -> bool {
        match self {
            Watch::Never => false,
            Watch::Rise => !before && after,
            Watch::Fall => before && !after,
            Watch::Both => before != after,
        }
    }
}

/// The table of a configuration between two equilibria.
pub struct Curve {
    /// The storage that moves, by its number.
    pub storage: usize,
    /// Pressures of the others, which rest.
    pub resting_pa: Vec<f64>,
    tolerance: Tolerance,
    rises: bool,
    panels: Vec<Panel>,
    below: Edge,
    above: Edge,
}

impl Curve {
    /// A curve that begins at a pressure where the net inflow is not nothing.
    pub fn new(storage: usize, stored_pa: &[f64], frame: &Frame, tolerance: Tolerance) -> Curve {
        let at = stored_pa[storage];
        let net = frame.integrands[storage];
        let width = 0.1 * (at.abs() + 2e4);
        let edge = Edge { at, raised: frame.raised.clone(), net, width, settled: false, root: None };
        Curve {
            storage,
            resting_pa: stored_pa.to_vec(),
            tolerance,
            rises: net > 0.0,
            panels: Vec::new(),
            below: edge.clone(),
            above: edge,
        }
    }

    /// True when a run from this pressure with this net inflow may be on this curve.
    pub fn may_hold(&self, storage: usize, stored_pa: &[f64], net: f64) -> bool {
        let others = |index: &usize| *index != storage;
        self.storage == storage
            && self.rises == (net > 0.0)
            && (0..stored_pa.len()).filter(others).all(|index| self.resting_pa[index] == stored_pa[index])
    }

    /// Grows the curve until it holds a pressure. False when an equilibrium lies in between.
    pub fn reach(&mut self, at: f64, store: &Storage, evaluate: &mut Evaluate) -> Result<bool, SolveError> {
        while at < self.below.at {
            if self.below.settled || !self.grow(false, Some(at), store, evaluate)? {
                return Ok(false);
            }
        }
        while at > self.above.at {
            if self.above.settled || !self.grow(true, Some(at), store, evaluate)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Runs from a pressure until a watched gauge changes, the time is over, or the state has come to rest. `raised` are the
    /// gauges as they were known at the start.
    pub fn run(
        &mut self,
        from: f64,
        most_s: f64,
        watches: &[Watch],
        raised: &[bool],
        store: &Storage,
        evaluate: &mut Evaluate,
    ) -> Result<Stretch, SolveError> {
        let number_of_integrands = self.panels.first().map_or(0, |panel| panel.integrals.len());
        let mut stretch = Stretch {
            integrals: vec![0.0; number_of_integrands],
            raised_s: vec![0.0; watches.len()],
            end: from,
            raised: raised.to_vec(),
            ..Stretch::default()
        };
        loop {
            let Some(index) = self.panel_from(stretch.end) else {
                let edge = if self.rises { &self.above } else { &self.below };
                if edge.settled {
                    stretch.settled = true;
                    stretch.raised.clone_from(&edge.raised);
                    return Ok(stretch);
                }
                if self.panels.len() > MOST_PANELS || !self.grow(self.rises, None, store, evaluate)? {
                    stretch.settled = true;
                    return Ok(stretch);
                }
                if stretch.integrals.is_empty() {
                    stretch.integrals = vec![0.0; self.panels[0].integrals.len()];
                }
                continue;
            };
            let panel = &self.panels[index];
            if watched(watches, &stretch.raised, &panel.raised) {
                stretch.raised.clone_from(&panel.raised);
                stretch.event = true;
                return Ok(stretch);
            }
            stretch.raised.clone_from(&panel.raised);
            let goal = if self.rises { panel.high } else { panel.low };
            let left_s = most_s - stretch.time_s;
            let done = self.pass(index, goal, left_s, store, &mut stretch);
            if done {
                return Ok(stretch);
            }
            // The gap between two panels is a located kink.
            let next = if self.rises {
                self.panels.get(index + 1).map(|next| next.low)
            } else {
                index.checked_sub(1).map(|next| self.panels[next].high)
            };
            let edge = if self.rises { &self.above } else { &self.below };
            let (beyond, raised) = match next {
                Some(at) => (at, None),
                None => (edge.at, Some(&edge.raised)),
            };
            stretch.end = beyond;
            if let Some(raised) = raised {
                let event = watched(watches, &stretch.raised, raised);
                if event {
                    stretch.raised.clone_from(raised);
                    stretch.event = true;
                    return Ok(stretch);
                }
            }
        }
    }

    /// Adds the way through a panel to its goal, or as far as the time goes; true when the time is over.
    fn pass(&self, index: usize, goal: f64, left_s: f64, store: &Storage, stretch: &mut Stretch) -> bool {
        let panel = &self.panels[index];
        let from = stretch.end;
        let whole = from == if self.rises { panel.low } else { panel.high };
        let time_s = if whole { panel.time_s } else { self.time_s(panel, from, goal, store) };
        let (to, time_s, over) = if time_s <= left_s {
            (goal, time_s, false)
        } else {
            (self.after(panel, from, goal, time_s, left_s, store), left_s, true)
        };
        if whole && !over {
            stretch.integrals.iter_mut().zip(&panel.integrals).for_each(|(sum, part)| *sum += part);
        } else {
            self.integrate(panel, from, to, store, &mut stretch.integrals);
        }
        stretch.time_s += time_s;
        stretch.end = to;
        for (sum, &raised) in stretch.raised_s.iter_mut().zip(&panel.raised) {
            if raised {
                *sum += time_s;
            }
        }
        over
    }

    /// The panel that a run from this pressure goes through next.
    fn panel_from(&self, at: f64) -> Option<usize> {
        if self.rises {
            let index = self.panels.partition_point(|panel| panel.high <= at);
            (index < self.panels.len()).then_some(index)
        } else {
            self.panels.partition_point(|panel| panel.low < at).checked_sub(1)
        }
    }

    /// Time from one pressure to another inside a panel, s.
    fn time_s(&self, panel: &Panel, from: f64, to: f64, store: &Storage) -> f64 {
        let net = &panel.series[self.storage * POINTS..(self.storage + 1) * POINTS];
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        let at = |x: f64| middle + half * x;
        let sum: f64 =
            gauss().iter().map(|&(x, weight)| weight * store.m3_per_pa(at(x)) / series(net, panel.scaled(at(x)))).sum();
        (sum * half).max(0.0)
    }

    /// The pressure after a time inside a panel, by Newton's method in a bracket.
    fn after(&self, panel: &Panel, from: f64, goal: f64, whole_s: f64, left_s: f64, store: &Storage) -> f64 {
        if left_s <= 0.0 {
            return from;
        }
        let net = &panel.series[self.storage * POINTS..(self.storage + 1) * POINTS];
        let (mut short, mut far) = (from, goal);
        let mut at = from + (goal - from) * (left_s / whole_s).clamp(0.0, 1.0);
        for _ in 0..60 {
            let late_s = self.time_s(panel, from, at, store) - left_s;
            if late_s.abs() <= 1e-13 * left_s {
                break;
            }
            if late_s > 0.0 {
                far = at;
            } else {
                short = at;
            }
            let slope = store.m3_per_pa(at) / series(net, panel.scaled(at));
            let mut next = at - late_s / slope;
            let inside = (next - short) * (far - next) > 0.0;
            if !inside {
                next = 0.5 * (short + far);
            }
            let step = (next - at).abs();
            at = next;
            if step <= 1e-14 * at.abs() {
                break;
            }
        }
        at
    }

    fn integrate(&self, panel: &Panel, from: f64, to: f64, store: &Storage, sums: &mut [f64]) {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        for &(x, weight) in gauss() {
            let at = middle + half * x;
            let scaled = panel.scaled(at);
            let net = series(&panel.series[self.storage * POINTS..(self.storage + 1) * POINTS], scaled);
            let share = half * weight * store.m3_per_pa(at) / net;
            for (sum, coefficients) in sums.iter_mut().zip(panel.series.chunks_exact(POINTS)) {
                *sum += share * series(coefficients, scaled);
            }
        }
    }

    /// Adds a panel at one end. False when an equilibrium is there.
    fn grow(&mut self, upward: bool, towards: Option<f64>, store: &Storage, evaluate: &mut Evaluate) -> Result<bool, SolveError> {
        let mut edge = if upward { self.above.clone() } else { self.below.clone() };
        let way = if upward { 1.0 } else { -1.0 };
        if let Some(goal) = towards {
            // A hair beyond the goal, so that a run can begin there.
            edge.width = edge.width.min((goal - edge.at).abs().max(LEAST_WIDTH_PA));
        }
        let grown = Growth { way, storage: self.storage, sign: if self.rises { 1.0 } else { -1.0 }, tolerance: self.tolerance };
        let found = grown.next(&mut edge, store, evaluate)?;
        let goes_on = found.is_some();
        if let Some(mut panel) = found {
            let (from, to) = if self.rises { (panel.low, panel.high) } else { (panel.high, panel.low) };
            panel.time_s = self.time_s(&panel, from, to, store);
            let mut integrals = vec![0.0; panel.series.len() / POINTS];
            self.integrate(&panel, from, to, store, &mut integrals);
            panel.integrals = integrals;
            if upward {
                self.panels.push(panel);
            } else {
                self.panels.insert(0, panel);
            }
        }
        if upward {
            self.above = edge;
        } else {
            self.below = edge;
        }
        Ok(goes_on)
    }
}

impl Panel {
    #[inline]
    fn scaled(&self, at: f64) -> f64 {
        ((at - self.low) - (self.high - at)) / (self.high - self.low)
    }
}

fn watched(watches: &[Watch], before: &[bool], after: &[bool]) -> bool {
    watches.iter().zip(before.iter().zip(after)).any(|(watch, (&before, &after))| watch.sees(before, after))
}

/// What a try for the next panel gives.
enum Next {
    /// A panel, or nothing at an equilibrium.
    Found(Option<Panel>),
    /// A break was crossed, and the edge stands behind it.
    Crossed,
}

/// Growing by one panel.
struct Growth {
    way: f64,
    storage: usize,
    sign: f64,
    tolerance: Tolerance,
}

impl Growth {
    /// The next panel from an edge, which moves on; nothing when the edge has come to an equilibrium.
    fn next(&self, edge: &mut Edge, store: &Storage, evaluate: &mut Evaluate) -> Result<Option<Panel>, SolveError> {
        for _ in 0..=MOST_BREAKS {
            if let Next::Found(panel) = self.step(edge, store, evaluate)? {
                return Ok(panel);
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
            } else if (far - root.at) * self.way >= -0.2 * left {
                far = root.at - self.way * 0.2 * left;
            }
        }
        let mut beyond = far;
        for _ in 0..200 {
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
        let (before, _) = bracket(edge.at, far, |at| {
            evaluate(at, &mut frame)?;
            Ok(self.pushes(&frame))
        })?;
        evaluate(before, &mut frame)?;
        let abrupt = self.pushes(&frame) > 1e-4 * start;
        Ok(Root { at: before, abrupt })
    }

    /// The first place behind the edge where a gauge changes: the last point before it and the first behind it.
    fn find_break(&self, edge: &Edge, far: f64, evaluate: &mut Evaluate) -> Result<(f64, f64), SolveError> {
        let mut frame = Frame::default();
        let (mut before, mut behind) = (edge.at, far);
        for _ in 0..edge.raised.len() + 1 {
            evaluate(behind, &mut frame)?;
            let Some(gauge) = (0..edge.raised.len()).find(|&gauge| frame.raised[gauge] != edge.raised[gauge]) else { break };
            let sign = if edge.raised[gauge] { 1.0 } else { -1.0 };
            (before, behind) = bracket(edge.at, behind, |at| {
                evaluate(at, &mut frame)?;
                // Zero counts as raised.
                let value = sign * frame.gauges[gauge];
                Ok(if sign > 0.0 && value == 0.0 { f64::MIN_POSITIVE } else { value })
            })?;
            evaluate(before, &mut frame)?;
            if frame.raised == edge.raised {
                break;
            }
            behind = before;
        }
        Ok((before, behind))
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
            if frame.raised != raised && high - low > LEAST_WIDTH_PA {
                return Ok(Sample::Breaks(at));
            }
            values.resize(frame.integrands.len(), [0.0; POINTS]);
            for (values, value) in values.iter_mut().zip(&frame.integrands) {
                values[index] = *value;
            }
        }
        let net = &values[self.storage];
        let least = net.iter().fold(f64::INFINITY, |least, value| least.min(self.sign * value));
        if least <= 0.0 && high - low > LEAST_WIDTH_PA {
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
            if !passes && high - low > LEAST_WIDTH_PA {
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

/// Narrows a change of sign, from above zero at `before` to not above zero at `behind`: the last point before, the first behind.
///
/// False position with halving where it creeps (Illinois), which is halving where the value is but a sign.
pub fn bracket(
    before: f64,
    behind: f64,
    mut value: impl FnMut(f64) -> Result<f64, SolveError>,
) -> Result<(f64, f64), SolveError> {
    let (mut before, mut behind) = (before, behind);
    let (mut value_before, mut value_behind) = (value(before)?, value(behind)?);
    let mut halve = false;
    for _ in 0..200 {
        let width = (behind - before).abs();
        if width <= LOCATED_TO_PA.max(4.0 * f64::EPSILON * before.abs()) {
            break;
        }
        let share = value_before / (value_before - value_behind);
        // Both sides of the crossing are looked at, so that the bracket closes from both.
        let nudge = 0.4 * LOCATED_TO_PA / width;
        let share = if halve || !share.is_finite() { 0.5 } else { share.clamp(nudge, 1.0 - nudge) };
        let tries = if halve { [share, share] } else { [(share - nudge).max(nudge), (share + nudge).min(1.0 - nudge)] };
        let start = (before, behind);
        for share in tries {
            let at = start.0 + share * (start.1 - start.0);
            if (at - before) * (behind - at) <= 0.0 {
                continue;
            }
            let here = value(at)?;
            if here > 0.0 {
                (before, value_before) = (at, here);
            } else {
                (behind, value_behind) = (at, here);
            }
        }
        halve = !halve && (behind - before).abs() > 0.1 * width;
    }
    Ok((before, behind))
}
