//! One storage between two equilibria: dP/dt = q(P) / C(P) as a table that is made as far as runs reach, and then read.
//!
//! Each panel holds all flows as Chebyshev series in the pressure of the storage. Panels end where a gauge changes sign
//! (a kink or an event), found by root finding, so that inside them everything is smooth. Time and volumes of a run are
//! integrals over the panels that it passes. In between two equilibria q keeps its sign, so a run goes one way.

use super::frame::{Frame, Tolerance, Watch};
use super::growth::{Edge, Evaluate, Growth, Panel};
use super::storage::Storage;
use super::tolerances::{LEAST_GAP_M3, LEAST_WIDTH_PA, MOST_PANELS};
use crate::hydraulics::SolveError;
use crate::numeric::chebyshev::{POINTS, series};
use crate::numeric::{gauss_between, rising_root};

/// A part of a run.
#[derive(Clone, Debug, Default)]
pub struct Compliance {
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

/// The table of a configuration between two equilibria.
pub struct TransientCurve {
    /// The storage that moves, by its number.
    pub storage: usize,
    /// Pressures of the others, which rest.
    pub resting_pa: Vec<f64>,
    tolerance: Tolerance,
    rises: bool,
    panels: Vec<Panel>,
    below: Edge,
    above: Edge,
    /// How often it has grown, or tried to.
    grown: usize,
}

impl TransientCurve {
    /// A curve that begins at a pressure where the net inflow is not nothing.
    pub fn new(storage: usize, stored_pa: &[f64], frame: &Frame, tolerance: Tolerance) -> TransientCurve {
        let at = stored_pa[storage];
        let net = frame.integrands[storage];
        let width = 0.1 * (at.abs() + 2e4);
        let edge = Edge { at, raised: frame.raised.clone(), net, width, settled: false, root: None };
        TransientCurve {
            storage,
            resting_pa: stored_pa.to_vec(),
            tolerance,
            rises: net > 0.0,
            panels: Vec::new(),
            below: edge.clone(),
            above: edge,
            grown: 0,
        }
    }

    /// How often it has grown, or tried to.
    pub fn grown(&self) -> usize {
        self.grown
    }

    /// True when a run from this pressure with this net inflow may be on this curve.
    pub fn may_hold(&self, storage: usize, stored_pa: &[f64], net: f64) -> bool {
        let others = |index: &usize| *index != storage;
        self.storage == storage
            && self.rises == (net > 0.0)
            && (0..stored_pa.len()).filter(others).all(|index| self.resting_pa[index] == stored_pa[index])
    }

    /// Grows the curve until it contains a pressure, Pa. False when an equilibrium lies in between. Errors: a state has no steady
    /// solution.
    pub fn reach(&mut self, at: f64, store: &Storage, evaluate: &mut Evaluate) -> Result<bool, SolveError> {
        while at < self.below.at {
            if self.is_ended(&self.below) || !self.grow(false, Some(at), store, evaluate)? {
                return Ok(false);
            }
        }
        while at > self.above.at {
            if self.is_ended(&self.above) || !self.grow(true, Some(at), store, evaluate)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether the curve cannot grow beyond an edge.
    fn is_ended(&self, edge: &Edge) -> bool {
        edge.settled || self.panels.len() > MOST_PANELS
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
    ) -> Result<Compliance, SolveError> {
        let number_of_integrands = self.panels.first().map_or(0, |panel| panel.integrals.len());
        let mut stretch = Compliance {
            integrals: vec![0.0; number_of_integrands],
            raised_s: vec![0.0; watches.len()],
            end: from,
            raised: raised.to_vec(),
            ..Compliance::default()
        };
        loop {
            let Some(index) = self.panel_from(stretch.end) else {
                let edge = if self.rises { &self.above } else { &self.below };
                if edge.settled {
                    stretch.settled = true;
                    stretch.raised.clone_from(&edge.raised);
                    return Ok(stretch);
                }
                if self.is_ended(edge) || !self.grow(self.rises, None, store, evaluate)? {
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
            if (beyond - stretch.end).abs() * store.m3_per_pa(beyond) > LEAST_GAP_M3 {
                self.cross(index, beyond, store, &mut stretch);
            }
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

    /// Adds the way over the gap after a panel, with the flows at its edge.
    fn cross(&self, index: usize, beyond: f64, store: &Storage, stretch: &mut Compliance) {
        let panel = &self.panels[index];
        let scaled = panel.scaled(stretch.end);
        let net = series(&panel.series[self.storage * POINTS..(self.storage + 1) * POINTS], scaled);
        let time_s = (beyond - stretch.end) * store.m3_per_pa(beyond) / net;
        if !(time_s.is_finite() && time_s > 0.0) {
            return;
        }
        stretch.time_s += time_s;
        for (sum, coefficients) in stretch.integrals.iter_mut().zip(panel.series.chunks_exact(POINTS)) {
            *sum += time_s * series(coefficients, scaled);
        }
    }

    /// Adds the way through a panel to its goal, or as far as the time goes; true when the time is over.
    fn pass(&self, index: usize, goal: f64, left_s: f64, store: &Storage, stretch: &mut Compliance) -> bool {
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

    /// Time for a small change of pressure inside a panel, s/Pa, at any pressure: below zero where the pressure falls.
    #[inline]
    fn s_per_pa<'a>(&self, panel: &'a Panel, store: &'a Storage) -> impl Fn(f64) -> f64 + use<'a> {
        let net = &panel.series[self.storage * POINTS..(self.storage + 1) * POINTS];
        move |at| store.m3_per_pa(at) / series(net, panel.scaled(at))
    }

    /// Time from one pressure to another inside a panel, s.
    fn time_s(&self, panel: &Panel, from: f64, to: f64, store: &Storage) -> f64 {
        let s_per_pa = self.s_per_pa(panel, store);
        gauss_between(from, to).map(|(at, weight)| weight * s_per_pa(at)).sum::<f64>().max(0.0)
    }

    /// The pressure after a time inside a panel.
    fn after(&self, panel: &Panel, from: f64, goal: f64, whole_s: f64, left_s: f64, store: &Storage) -> f64 {
        if left_s <= 0.0 {
            return from;
        }
        let (way, s_per_pa) = (if self.rises { 1.0 } else { -1.0 }, self.s_per_pa(panel, store));
        let first = from + (goal - from) * (left_s / whole_s).clamp(0.0, 1.0);
        rising_root(from.min(goal), from.max(goal), first, 1e-13 * left_s, |at| {
            (way * (self.time_s(panel, from, at, store) - left_s), way * s_per_pa(at))
        })
    }

    fn integrate(&self, panel: &Panel, from: f64, to: f64, store: &Storage, sums: &mut [f64]) {
        let s_per_pa = self.s_per_pa(panel, store);
        for (at, weight) in gauss_between(from, to) {
            let (scaled, share) = (panel.scaled(at), weight * s_per_pa(at));
            for (sum, coefficients) in sums.iter_mut().zip(panel.series.chunks_exact(POINTS)) {
                *sum += share * series(coefficients, scaled);
            }
        }
    }

    /// Adds a panel at one end. False when an equilibrium is there.
    fn grow(&mut self, upward: bool, toward: Option<f64>, store: &Storage, evaluate: &mut Evaluate) -> Result<bool, SolveError> {
        self.grown += 1;
        let mut edge = if upward { self.above.clone() } else { self.below.clone() };
        let way = if upward { 1.0 } else { -1.0 };
        if let Some(goal) = toward {
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

fn watched(watches: &[Watch], before: &[bool], after: &[bool]) -> bool {
    watches.iter().zip(before.iter().zip(after)).any(|(watch, (&before, &after))| watch.sees(before, after))
}
