//! The solution: pressures and flows everywhere in a garden after a solve, and what the switches make of it.
//!
//! What it means for the gardener is the work of `findings`.

use super::answer::split;
use super::network::{Network, PumpState};
use super::outcome::{Convergence, SolveError};
use super::switch::{SwitchState, Switches};
use crate::garden::{Garden, GardenError};
use crate::laws::friction::Regime;
use crate::laws::section::{head_of_pressure_m, speed_m_per_s};
use crate::limits::{self, Ended};
use crate::parts::{Id, Law, Part, Placing, Spec};
use crate::told::Told;
use std::collections::VecDeque;
use thiserror::Error;

/// Why a garden could not be run.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum RunError {
    /// The garden does not fit: unknown zones, no source, a diameter that nothing gives.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// No steady state was found.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// The user stopped it, or its budget of time or memory is used up.
    #[error(transparent)]
    Ended(#[from] Ended),
}

impl Told for RunError {
    fn hint(&self) -> Option<String> {
        match self {
            RunError::Garden(error) => error.hint(),
            RunError::Ended(_) => None,
            RunError::Solve(_) => {
                Some("look there for conflicting components, or for a demand that the supply cannot deliver".into())
            }
        }
    }

    fn about(&self) -> Option<String> {
        if let RunError::Garden(error) = self { error.about() } else { None }
    }
}

/// Steady state of one part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartState {
    /// Place of the part in its garden.
    pub place: usize,
    /// Flow in its own direction; of an outlet, what it discharges; m3/s.
    pub flow_m3_per_s: f64,
    /// Gauge pressure where water enters it, Pa; `None` where no source is connected.
    pub pressure_in_pa: Option<f64>,
    /// Gauge pressure where water leaves it, Pa; for an outlet the pressure upstream of it. `None` where no source is connected.
    pub pressure_out_pa: Option<f64>,
    /// Mean velocity at its inside diameter, m/s; `None` for parts without one.
    pub speed_m_per_s: Option<f64>,
    /// Reynolds number, for hoses and pipes.
    pub reynolds: Option<f64>,
}

/// A point on the way of the water from a source to a part.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Place of the part at whose downstream end it lies.
    pub place: usize,
    /// Length of hose and pipe from the source, m.
    pub distance_m: f64,
    /// Height above the source, m.
    pub height_m: f64,
    /// Gauge pressure, Pa.
    pub pressure_pa: f64,
}

/// A steady state: pressures and flows everywhere in a garden. Lists go by place: one entry for each part, in the order of the
/// garden, unless stated.
#[derive(Clone, Debug)]
pub struct Solution {
    /// The garden that was solved.
    pub garden: Garden,
    /// Names of the zone valves that were opened.
    pub zones: Vec<String>,
    /// Which parts are open: all but closed valves.
    pub open: Vec<bool>,
    /// State of each part.
    pub parts: Vec<PartState>,
    /// Which boosters run; of other parts the entry has no meaning.
    pub runs: Vec<bool>,
    /// Pressure switches that drive a booster, with what comes of each.
    pub switches: Vec<SwitchState>,
    /// How the answer was found, and how closely it fits.
    pub convergence: Convergence,
    /// Groups of places between which the split of the flow is undetermined, as they lose no pressure; the sum over a group is exact.
    pub undetermined: Vec<Vec<usize>>,
    /// Gauge pressure at each node of the layout, Pa; NaN where no source is connected.
    pub node_pa: Vec<f64>,
    /// Places that water enters at vapor pressure: it cavitates there, and the line upstream limits the flow.
    pub parted: Vec<usize>,
    /// Places of regulators that hold their setting.
    pub held: Vec<usize>,
}

/// Finds the steady state of a garden with these zones open and all other zone valves closed. Boosters without a switch run.
///
/// Errors: [`RunError::Garden`] for an unknown zone, a garden without a source, a diameter that nothing gives or a loop whose heights
/// do not close; [`RunError::Solve`] where no steady state is found; [`RunError::Ended`] where it was stopped.
/// Method and sources: `docs/method.md`.
pub fn run(garden: &Garden, zones: &[&str]) -> Result<Solution, RunError> {
    run_switched(garden, zones, &Switches::of(garden))
}

/// As [`run`], with switches and their boosters as they are known beforehand.
pub(crate) fn run_switched(garden: &Garden, zones: &[&str], switches: &Switches) -> Result<Solution, RunError> {
    limits::go_on()?;
    let open = garden.opened(zones)?;
    let mut network = Network::new(garden, &open)?;
    let (states, convergence) = switches.settle(&mut network).map_err(|error| error.named(garden))?;
    let zones = zones.iter().map(|zone| (*zone).to_string()).collect();
    Ok(Solution { switches: states, ..spread(garden, zones, open, &mut network, convergence) })
}

/// A solved network in terms of its garden, as if nothing started its boosters.
fn spread(garden: &Garden, zones: Vec<String>, open: Vec<bool>, network: &mut Network, convergence: Convergence) -> Solution {
    let node_pa = network.node_pressures_pa().to_vec();
    let first_place = |link: usize| network.circuit.structure.links[link].steps[0].place;
    let groups = split::undetermined(&network.circuit);
    let undetermined = groups.iter().map(|links| links.iter().map(|&link| first_place(link)).collect()).collect();
    let held = garden.of_spec(Spec::regulates).filter(|&place| holds(garden, network, &node_pa, place)).collect();
    let parts = (0..garden.parts().len()).map(|place| part_state(garden, network, &node_pa, place)).collect();
    Solution {
        garden: garden.clone(),
        zones,
        open,
        parts,
        runs: network.circuit.runs.clone(),
        switches: Vec::new(),
        convergence,
        undetermined,
        node_pa,
        parted: network.parted(),
        held,
    }
}

impl Solution {
    /// The same zones with all boosters off, in the same garden or in one that differs from it in parameters alone.
    ///
    /// Errors: as for [`run`].
    pub(crate) fn without_boosters(&self, garden: &Garden) -> Result<Solution, RunError> {
        limits::go_on()?;
        let mut network = Network::new(garden, &self.open)?;
        garden.boosters().for_each(|booster| network.run_pump(booster, PumpState::Off));
        let convergence = network.solve().map_err(|error| error.named(garden))?;
        Ok(spread(garden, self.zones.clone(), self.open.clone(), &mut network, convergence))
    }

    /// State of the named part. Errors: [`GardenError::UnknownName`].
    pub fn state(&self, name: &str) -> Result<&PartState, GardenError> {
        Ok(&self.parts[self.garden.find(name)?])
    }

    /// Gauge pressure at the named part, Pa: upstream of an outlet, downstream of any other. `None` where no source is connected.
    ///
    /// Errors: [`GardenError::UnknownName`].
    pub fn pressure_pa(&self, name: &str) -> Result<Option<f64>, GardenError> {
        Ok(self.state(name)?.pressure_out_pa)
    }

    /// Flow through the named part in its own direction, or out of an outlet, m3/s. Errors: [`GardenError::UnknownName`].
    pub fn flow_m3_per_s(&self, name: &str) -> Result<f64, GardenError> {
        Ok(self.state(name)?.flow_m3_per_s)
    }

    /// The way of the water from a source to the named part, with pressure and height downstream of each part on it. Where several
    /// ways join, it follows the larger flow. Empty where no source is connected.
    ///
    /// Errors: [`GardenError::UnknownName`].
    pub fn pressure_profile(&self, name: &str) -> Result<Vec<ProfilePoint>, GardenError> {
        let place = self.garden.find(name)?;
        Ok(self.way_to(place))
    }

    fn way_to(&self, goal: usize) -> Vec<ProfilePoint> {
        let layout = self.garden.layout();
        let parts = self.garden.parts();
        // For each node that was come to the place by which, and the node that it came from.
        let mut reached: Vec<Option<(u32, u32)>> = vec![None; layout.number_of_nodes];
        let mut ways: Vec<(f64, usize)> = Vec::new();
        let mut queue = VecDeque::new();
        let mut start = None;
        // From the goal against the water: parts that flow come first, so that the way follows it.
        let goal_node = layout.places[goal].to;
        queue.push_back(goal_node);
        while let Some(node) = queue.pop_front() {
            let here = &layout.joined()[node];
            if let Some(&source) = here.iter().find(|&&p| layout.spec(p).placing == Placing::Source) {
                start = Some((source, node));
                break;
            }
            let inline = |p: &usize| self.open[*p] && layout.spec(*p).placing == Placing::Inline;
            let inflow =
                |p: usize| if layout.places[p].to == node { self.parts[p].flow_m3_per_s } else { -self.parts[p].flow_m3_per_s };
            ways.clear();
            ways.extend(here.iter().copied().filter(inline).map(|p| (inflow(p), p)));
            ways.sort_by(|a, b| b.0.total_cmp(&a.0));
            for &(_, p) in &ways {
                let other = if layout.places[p].to == node { layout.places[p].from } else { layout.places[p].to };
                if other != goal_node && reached[other].is_none() {
                    reached[other] = Some((p as u32, node as u32));
                    queue.push_back(other);
                }
            }
        }
        let Some((source, mut node)) = start else { return Vec::new() };
        let mut points = Vec::new();
        let (mut distance_m, mut height_m) = (0.0, 0.0);
        let mut push = |place: usize, node: usize, distance_m: f64, height_m: f64| {
            points.push(ProfilePoint { place, distance_m, height_m, pressure_pa: self.node_pa[node] });
        };
        push(source, node, distance_m, height_m);
        while node != goal_node {
            let Some((place, next)) = reached[node] else { break };
            let (place, next) = (place as usize, next as usize);
            if layout.spec(place).is_line() {
                distance_m += parts[place].value(Id::Length);
            }
            let rise_m = parts[place].rise_m();
            height_m += if layout.places[place].to == next { rise_m } else { -rise_m };
            node = next;
            push(place, node, distance_m, height_m);
        }
        if layout.spec(goal).placing == Placing::Outlet {
            push(goal, goal_node, distance_m, height_m);
        }
        points
    }

    /// Hydraulic grade line at a point, m above the source: height plus pressure head.
    pub fn grade_m(&self, point: &ProfilePoint) -> f64 {
        point.height_m + head_of_pressure_m(point.pressure_pa, self.garden.water().density_kg_per_m3)
    }
}

/// True when a regulator holds: one in its link rules the flow, and wide open it would let through more than its setting.
fn holds(garden: &Garden, network: &Network, node_pa: &[f64], place: usize) -> bool {
    let Law::Regulator { resistance, set_pa } = network.law(place) else { return false };
    let (before_pa, flow) = (node_pa[garden.layout().places[place].from], network.flow(place));
    network.is_held(place) && before_pa - resistance * flow * flow.abs() >= *set_pa
}

fn part_state(garden: &Garden, network: &Network, node_pa: &[f64], place: usize) -> PartState {
    let part = &garden.parts()[place];
    let joint = &garden.layout().places[place];
    let flow = network.flow(place);
    let known = |node: usize| (!node_pa[node].is_nan()).then_some(node_pa[node]);
    let (mut pressure_in, mut pressure_out) = (known(joint.from), known(joint.to));
    if garden.spec(place).placing == Placing::Outlet && !garden.spec(place).traits.demands {
        // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
        (pressure_in, pressure_out) = (pressure_in.map(|p| p.max(0.0)), pressure_out.map(|p| p.max(0.0)));
    }
    let diameter_m = diameter_of(garden, part, place);
    let speed = diameter_m.map(|diameter| speed_m_per_s(flow.abs(), diameter));
    let reynolds = match &network.circuit.laws[place] {
        Law::Friction { pipe, .. } => Some(pipe.reynolds(flow)),
        Law::HazenWilliams { .. } => {
            speed.zip(diameter_m).map(|(speed, diameter_m)| speed * diameter_m / garden.water().kinematic_viscosity_m2_per_s())
        }
        _ => None,
    };
    PartState {
        place,
        flow_m3_per_s: flow,
        pressure_in_pa: pressure_in,
        pressure_out_pa: pressure_out,
        speed_m_per_s: speed,
        reynolds,
    }
}

fn diameter_of(garden: &Garden, part: &Part, place: usize) -> Option<f64> {
    if garden.spec(place).placing != Placing::Inline {
        return None;
    }
    let hose = garden.layout().diameter_from()[place].map(|hose| garden.parts()[hose].value(Id::Diameter));
    part.si(Id::Diameter).or(hose.filter(|_| part.si(Id::K).is_some()))
}

impl PartState {
    /// The flow regime in a hose or pipe with flow.
    pub fn regime(&self) -> Option<Regime> {
        self.reynolds.filter(|&reynolds| reynolds > 0.0).map(Regime::at)
    }

    /// Fall of gauge pressure between its ends in its own direction, Pa, height included; below zero for a booster that runs.
    pub fn loss_pa(&self) -> Option<f64> {
        Some(self.pressure_in_pa? - self.pressure_out_pa?)
    }
}
