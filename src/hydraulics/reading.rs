//! The reading: pressures and flows everywhere in a garden after a solve, and what the switches make of it.
//!
//! Spreads the answer of a solve over parts in series and legs without flow. What it means for the gardener is the work
//! of `findings`.

use super::loose::Tie;
use super::network::Network;
use super::outcome::{Convergence, SolveError};
use super::parting::{self, Supplied};
use super::structure::{Link, Step};
use super::switch::{SwitchState, Switches};
use super::trace::loss_pa;
use crate::garden::{Garden, GardenError};
use crate::laws::friction::Regime;
use crate::laws::section::{head_of_pressure_m, speed_m_per_s};
use crate::limits::{self, Ended};
use crate::parts::{Id, Kind, Law, Part, Placing};
use crate::told::Told;
use std::collections::{HashMap, VecDeque};
use thiserror::Error;

/// Why a garden could not be run.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum RunError {
    #[error(transparent)]
    Garden(#[from] GardenError),
    #[error(transparent)]
    Solve(#[from] SolveError),
    #[error(transparent)]
    Ended(#[from] Ended),
}

impl Told for RunError {
    fn hint(&self) -> Option<String> {
        match self {
            RunError::Garden(error) => error.hint(),
            RunError::Ended(_) => None,
            RunError::Solve(_) => Some("look for parts that fight each other there, or a draw that nothing can feed".into()),
        }
    }

    fn about(&self) -> Option<String> {
        if let RunError::Garden(error) = self { error.about() } else { None }
    }
}

/// State of one part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartState {
    pub place: usize,
    /// Flow in its own direction; of an outlet, what it discharges; m3/s.
    pub flow_m3_per_s: f64,
    /// Gauge pressure where water enters it; nothing where no supply reaches, Pa.
    pub pressure_in_pa: Option<f64>,
    /// Gauge pressure where water leaves it; for an outlet the pressure before it, Pa.
    pub pressure_out_pa: Option<f64>,
    /// Mean speed in its bore, for hoses and parts with a bore, m/s.
    pub speed_m_per_s: Option<f64>,
    /// Reynolds number, for hoses.
    pub reynolds: Option<f64>,
}

/// A point on the way from the supply to a part.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoint {
    pub place: usize,
    /// Length of hose from the supply, m.
    pub distance_m: f64,
    /// Height above the supply, m.
    pub height_m: f64,
    pub pressure_pa: f64,
}

/// Pressures and flows everywhere in a garden.
#[derive(Clone, Debug)]
pub struct Reading {
    pub garden: Garden,
    /// Names of the valves that stand open.
    pub zones: Vec<String>,
    /// Which places are open: all but shut valves.
    pub open: Vec<bool>,
    pub parts: Vec<PartState>,
    /// Which boosters run.
    pub runs: Vec<bool>,
    pub switches: Vec<SwitchState>,
    pub convergence: Convergence,
    /// Places between which nothing decides how the flow is split, group by group; the sum over a group is exact.
    pub undetermined: Vec<Vec<usize>>,
    /// Gauge pressure at each node of the layout; NaN where no supply reaches, Pa.
    pub node_pa: Vec<f64>,
    /// Places that water enters at vapor pressure: it parts there, and no more comes through than the way to them lets.
    pub parted: Vec<usize>,
    /// Places of regulators that hold their setting.
    pub held: Vec<usize>,
}

/// Runs a garden with these zones open. Errors: unknown zones, nothing that feeds it, or no steady state.
pub fn run(garden: &Garden, zones: &[&str]) -> Result<Reading, RunError> {
    run_switched(garden, zones, &Switches::of(garden))
}

/// As [`run`], with switches and their boosters as they are known beforehand.
pub(crate) fn run_switched(garden: &Garden, zones: &[&str], switches: &Switches) -> Result<Reading, RunError> {
    limits::go_on()?;
    let open = garden.opened(zones)?;
    let mut network = Network::new(garden, &open)?;
    let (states, convergence) = switches.settle(&mut network).map_err(|error| error.named(garden))?;
    let node_pa = spread(&mut network).to_vec();
    let first_place = |link: usize| network.structure.links[link].steps[0].place;
    let split = super::split::undetermined(&network);
    let undetermined = split.iter().map(|links| links.iter().map(|&link| first_place(link)).collect()).collect();
    let held = garden.of_kind(Kind::Regulator).filter(|&place| holds(garden, &network, &node_pa, place)).collect();
    let parts = (0..garden.parts().len()).map(|place| part_state(garden, &network, &node_pa, place)).collect();
    Ok(Reading {
        garden: garden.clone(),
        zones: zones.iter().map(|zone| (*zone).to_string()).collect(),
        open,
        parts,
        runs: network.runs.clone(),
        switches: states,
        convergence,
        undetermined,
        node_pa,
        parted: network.parted(),
        held,
    })
}

impl Reading {
    /// State of the named part. Errors: an unknown name.
    pub fn state(&self, name: &str) -> Result<&PartState, GardenError> {
        Ok(&self.parts[self.garden.find(name)?])
    }

    /// Pressure at the named part: before an outlet, behind any other. Nothing where no supply reaches.
    pub fn pressure_pa(&self, name: &str) -> Result<Option<f64>, GardenError> {
        Ok(self.state(name)?.pressure_out_pa)
    }

    /// Flow through the named part, m3/s.
    pub fn flow_m3_per_s(&self, name: &str) -> Result<f64, GardenError> {
        Ok(self.state(name)?.flow_m3_per_s)
    }

    /// The way of the water from a source to the named part, with pressure and height behind each part on it.
    ///
    /// Errors: an unknown name. Empty where no supply reaches.
    pub fn profile(&self, name: &str) -> Result<Vec<ProfilePoint>, GardenError> {
        let place = self.garden.find(name)?;
        Ok(self.way_to(place))
    }

    fn way_to(&self, goal: usize) -> Vec<ProfilePoint> {
        let layout = self.garden.layout();
        let parts = self.garden.parts();
        let mut reached: HashMap<usize, (usize, usize)> = HashMap::new();
        let mut queue = VecDeque::new();
        let mut start = None;
        // From the goal against the water: parts that flow come first, so that the way follows it.
        let goal_node = layout.places[goal].to;
        queue.push_back(goal_node);
        while let Some(node) = queue.pop_front() {
            let here = &layout.joined()[node];
            if let Some(&source) = here.iter().find(|&&p| parts[p].spec().placing == Placing::Source) {
                start = Some((source, node));
                break;
            }
            let inline = |p: &usize| parts[*p].spec().placing == Placing::Inline && self.open[*p];
            let mut ways: Vec<usize> = here.iter().copied().filter(inline).collect();
            let inflow =
                |&p: &usize| if layout.places[p].to == node { self.parts[p].flow_m3_per_s } else { -self.parts[p].flow_m3_per_s };
            ways.sort_by(|a, b| inflow(b).total_cmp(&inflow(a)));
            for p in ways {
                let other = if layout.places[p].to == node { layout.places[p].from } else { layout.places[p].to };
                if other != goal_node && !reached.contains_key(&other) {
                    reached.insert(other, (p, node));
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
            let Some(&(place, next)) = reached.get(&node) else { break };
            match parts[place].kind() {
                Kind::Hose | Kind::Pipe => distance_m += parts[place].value(Id::Length),
                Kind::Climb if layout.places[place].to == next => height_m += parts[place].value(Id::Height),
                Kind::Climb => height_m -= parts[place].value(Id::Height),
                _ => {}
            }
            node = next;
            push(place, node, distance_m, height_m);
        }
        if parts[goal].spec().placing == Placing::Outlet {
            push(goal, goal_node, distance_m, height_m);
        }
        points
    }

    /// The grade line's height at a point: height plus pressure head, m.
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
    if part.spec().placing == Placing::Outlet && part.kind() != Kind::Draw {
        // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
        (pressure_in, pressure_out) = (pressure_in.map(|p| p.max(0.0)), pressure_out.map(|p| p.max(0.0)));
    }
    let bore_m = bore_of(garden, part, place);
    let speed = bore_m.map(|bore| speed_m_per_s(flow.abs(), bore));
    let reynolds = match &network.laws[place] {
        Law::Friction { pipe, .. } => Some(pipe.reynolds(flow)),
        Law::HazenWilliams { .. } => {
            speed.zip(bore_m).map(|(speed, bore_m)| speed * bore_m / garden.water().kinematic_viscosity_m2_per_s())
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

fn bore_of(garden: &Garden, part: &Part, place: usize) -> Option<f64> {
    match part.kind() {
        Kind::Hose | Kind::Pipe => part.si(Id::Bore),
        _ if part.spec().placing == Placing::Inline => {
            let hose = garden.layout().bore_from[place].map(|hose| garden.parts()[hose].value(Id::Bore));
            part.si(Id::Bore).or(if part.si(Id::K).is_some() { hose } else { None })
        }
        _ => None,
    }
}

impl PartState {
    /// The regime of flow in a hose that flows.
    pub fn regime(&self) -> Option<Regime> {
        self.reynolds.filter(|&reynolds| reynolds > 0.0).map(Regime::at)
    }

    /// What is lost between its ends, Pa.
    pub fn loss_pa(&self) -> Option<f64> {
        Some(self.pressure_in_pa? - self.pressure_out_pa?)
    }
}

/// The pressure behind a part, for probes that no law answers; those of all nodes are spread before.
pub(super) fn pressure_behind(network: &Network, place: usize) -> f64 {
    let outlet = network.parts[place].spec().placing == Placing::Outlet && network.parts[place].kind() != Kind::Draw;
    let pressure = network.node_pa[network.joints[place].1];
    // `f64::max` would turn "nothing fed" into zero.
    if outlet && pressure < 0.0 { 0.0 } else { pressure }
}

/// Pressures of all nodes of the layout; NaN where no supply reaches.
pub(super) fn spread(network: &mut Network) -> &[f64] {
    let mut node_pa = std::mem::take(&mut network.node_pa);
    node_pa.fill(f64::NAN);
    for (index, &node) in network.structure.unknowns.iter().enumerate() {
        node_pa[node] = known_pa(network, index);
    }
    for (index, link) in network.structure.links.iter().enumerate() {
        walk(network, index, link, &mut node_pa);
    }
    for &(place, node) in &network.structure.idle_sources {
        match &network.laws[place] {
            Law::Source { pressure_pa, .. } => node_pa[node] = *pressure_pa,
            Law::Stored { store, from_m3, span_s } => node_pa[node] = store.stand(*from_m3, *span_s).pressure_pa,
            _ => {}
        }
    }
    for leg in &network.structure.still {
        let step = Step { place: leg.place, forward: leg.forward };
        let before_pa = node_pa[leg.from_node];
        let behind_pa = behind(network, step, before_pa, 0.0);
        // No water comes down behind a crest that it does not climb.
        let parted = before_pa <= parting::at_vapor_below_pa(network) && behind_pa > before_pa;
        node_pa[leg.to_node] = if parted { f64::NAN } else { held_up(network, behind_pa) };
        if !leg.forward && network.laws[leg.place].is_gate() {
            // Nothing comes back through it: what stands behind has no supply.
            node_pa[leg.to_node] = f64::NAN;
        }
    }
    network.node_pa = node_pa;
    &network.node_pa
}

/// Pressure of an unknown; NaN where nothing ties it.
fn known_pa(network: &Network, unknown: usize) -> f64 {
    if network.ties[unknown] == Tie::Loose { f64::NAN } else { held_up(network, network.pressures_pa[unknown]) }
}

/// Pressure of an unknown up to which water stands at rest; NaN where it does not get there.
fn standing_pa(network: &Network, unknown: usize) -> f64 {
    let known_pa = network.pressures_pa[unknown];
    let stands = known_pa >= network.vapour_pa || network.supplied[unknown] == Supplied::Short;
    if !stands || network.ties[unknown] == Tie::Loose { f64::NAN } else { known_pa.max(network.vapour_pa) }
}

/// A pressure, or that of vapor where water would stand below it; NaN stays.
fn held_up(network: &Network, pressure_pa: f64) -> f64 {
    if pressure_pa < network.vapour_pa { network.vapour_pa } else { pressure_pa }
}

/// Pressure behind a step, from the pressure before it and the flow in the direction of the link.
fn behind(network: &Network, step: Step, before_pa: f64, flow: f64) -> f64 {
    let sign = if step.forward { 1.0 } else { -1.0 };
    let (law, runs) = (&network.laws[step.place], network.runs[step.place]);
    match law {
        Law::Regulator { set_pa, .. } if step.forward => {
            let open_pa = before_pa - loss_pa(law, runs, sign, flow);
            // `f64::min` would turn "nothing fed" into the setting.
            if open_pa > *set_pa { *set_pa } else { open_pa }
        }
        // A source begins at the outside.
        Law::Source { .. } => 0.0 - law.loss(runs, flow).loss_pa,
        Law::Stored { .. } => 0.0 - law.loss(runs, sign * flow).loss_pa,
        _ if law.discharges() => before_pa,
        _ => before_pa - loss_pa(law, runs, sign, flow),
    }
}

/// Fills in the pressures along a link.
fn walk(network: &Network, index: usize, link: &Link, node_pa: &mut [f64]) {
    let flow = network.states[index].flow;
    let parted = network.link_laws[index].parted_step(network.states[index].holding);
    let last = link.steps.len().saturating_sub(1);
    let mut pressure =
        link.from.map_or(0.0, |node| if flow == 0.0 { standing_pa(network, node) } else { known_pa(network, node) });
    for (position, step) in link.steps.iter().enumerate() {
        if link.to.is_none() && position == last && link.steps.len() > 1 {
            break;
        }
        if flow == 0.0 && parted == Some((position, true)) {
            // A pump or a way downhill that gets no water pushes nothing on.
            break;
        }
        let comes_through = flow != 0.0 || step.forward || !is_gate(network, step);
        pressure = if comes_through { behind(network, *step, pressure, flow) } else { f64::NAN };
        if flow != 0.0 {
            // Beyond a place where water parts it may part again.
            pressure = held_up(network, pressure);
        }
        if position < last || link.to.is_none() {
            node_pa[link.nodes[position]] = held_up(network, pressure);
        }
        if flow == 0.0 && pressure < network.vapour_pa {
            // At rest nothing comes over a crest that it does not climb.
            break;
        }
    }
    if flow == 0.0 {
        walk_back_at_rest(network, link, parted, node_pa);
    } else if let Some((step, forward)) = parted {
        walk_back_to_gap(network, link, (step, forward), flow, node_pa);
    }
}

/// Beyond the place where water parts the far end rules: what stands there is what the rest of the link has still to lose.
fn walk_back_to_gap(network: &Network, link: &Link, (gap, forward): (usize, bool), flow: f64, node_pa: &mut [f64]) {
    let loss = |step: &Step| {
        let sign = if step.forward { 1.0 } else { -1.0 };
        loss_pa(&network.laws[step.place], network.runs[step.place], sign, flow)
    };
    let mut pressure = link.to.map_or(0.0, |node| known_pa(network, node));
    let lowest = if forward { gap + 1 } else { 1 };
    for position in (lowest..link.steps.len()).rev() {
        pressure = held_up(network, pressure + loss(&link.steps[position]));
        // Water that flows backward has the far end upstream of the gap, and the walk from the near end is right beyond it.
        if forward || position > gap {
            node_pa[link.nodes[position - 1]] = pressure;
        }
    }
}

/// Water at rest fills a link from its far end too: of two sides the one with more pressure rules what lies between gates.
fn walk_back_at_rest(network: &Network, link: &Link, parted: Option<(usize, bool)>, node_pa: &mut [f64]) {
    if link.to.is_none() && !link.ends_in_source {
        return;
    }
    let mut pressure = link.to.map_or(0.0, |node| standing_pa(network, node));
    for position in (1..link.steps.len()).rev() {
        if parted == Some((position, false)) {
            break;
        }
        let step = link.steps[position];
        let back = Step { forward: !step.forward, ..step };
        let comes_through = back.forward || !is_gate(network, &step);
        pressure = if comes_through { behind(network, back, pressure, 0.0) } else { f64::NAN };
        let node = link.nodes[position - 1];
        // `f64::max` takes the other where one is no number, which is what is wanted here.
        node_pa[node] = node_pa[node].max(held_up(network, pressure));
        if pressure < network.vapour_pa {
            break;
        }
    }
}

/// True for parts that let water through one way only.
fn is_gate(network: &Network, step: &Step) -> bool {
    network.laws[step.place].is_gate()
}
