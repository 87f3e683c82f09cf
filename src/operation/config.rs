//! A configuration: one setting of valves, pumps and faults with its state and tables, and how a leg of it runs.
//!
//! One storage that moves runs on a curve, several by steps, none at rest.

use super::attempt::settle;
use super::curve::{Compliance, TransientCurve};
use super::fault::Fault;
use super::frame::{Frame, Leg, Question, Setting, Watch};
use super::gauge::What;
use super::plant::{self, Plant};
use super::state::State;
use super::steps::Steps;
use super::tolerances::{NO_CHANGE_PA, NO_FLOW_M3_PER_S, NO_WATER_M3, RESTS_WITHIN, RESTS_WITHIN_PA};
use super::ways::Ways;
use crate::garden::GardenError;
use crate::hydraulics::SolveError;
use crate::parts::Law;
use std::collections::HashMap;
use std::sync::Arc;

/// A setting with all that was made for it.
pub struct Config {
    pub state: State,
    /// Whether pressures of the storages alone determine the flows: each is by itself among what open parts join, and resistance
    /// keeps it from every source that holds its pressure.
    by_pressures: bool,
    curves: Vec<TransientCurve>,
    pub legs: HashMap<u64, Arc<Leg>>,
    steps: Steps,
    ways: Ways,
    /// The day on which it was last entered.
    day: usize,
}

impl Config {
    /// A configuration that nothing is known of yet. Errors: the network cannot be made, as for
    /// [`Network::new`](crate::hydraulics::Network::new).
    pub fn new(plant: &Plant, faults: &[(usize, Fault)], setting: &Setting) -> Result<Config, GardenError> {
        let state = State::new(plant, faults, setting)?;
        Ok(Config {
            by_pressures: stand_alone(plant, &state) && stand_off(plant, &state),
            state,
            curves: Vec::new(),
            legs: HashMap::new(),
            steps: Steps::default(),
            ways: Ways::default(),
            day: 0,
        })
    }

    /// Enters it on a day. Of the days before it keeps its curves and legs, but no step and no solve to go on from.
    pub fn wake(&mut self, day: usize) {
        if self.day != day {
            self.day = day;
            self.steps = Steps::default();
            self.ways.wake();
            self.state.forget();
        }
    }

    /// A number that grows with what stays known from one day to the next, and with solves that found nothing.
    pub fn learned(&self) -> usize {
        let curves: usize = self.curves.iter().map(|curve| 1 + curve.grown()).sum();
        1 + usize::from(!self.by_pressures) + curves + self.legs.len() + self.ways.kept() + self.state.failures
    }

    /// Whether a state that comes back does so to the last digit.
    pub fn repeats(&self) -> bool {
        self.by_pressures
    }

    /// The state at these gauge pressures of the storages, Pa. Errors: there is no steady one.
    pub fn evaluate(&mut self, plant: &Plant, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        if self.by_pressures && self.state.with_pressures(plant, stored_pa, frame).is_ok() {
            return Ok(());
        }
        // What pressures do not determine now they will not determine later.
        self.by_pressures = false;
        self.state.at_once(plant, stored_pa, frame)?;
        self.steps.enter(stored_pa, frame);
        Ok(())
    }

    pub fn leg(&mut self, question: &Question) -> Result<Arc<Leg>, SolveError> {
        // Where nothing is watched no event ends a way.
        let is_way = question.watches.iter().any(|watch| *watch != Watch::Never);
        if let Some(leg) = self.ways.next(question).filter(|_| is_way) {
            return Ok(leg);
        }
        if self.by_pressures
            && let Ok(Some(leg)) = self.leg_by_pressures(question)
        {
            return Ok(Arc::new(leg));
        }
        if is_way && !self.steps.goes_on(question) {
            if let Some(leg) = self.ways.find(question) {
                return Ok(leg);
            }
            self.ways.begin(question);
        }
        let leg = Arc::new(self.steps.step(&mut self.state, question)?);
        if is_way {
            self.ways.record(question, &leg);
        }
        Ok(leg)
    }

    /// A leg at rest or on a curve; none where several storages move.
    fn leg_by_pressures(&mut self, question: &Question) -> Result<Option<Leg>, SolveError> {
        let mut frame = Frame::default();
        self.state.with_pressures(question.plant, question.stored_pa, &mut frame)?;
        let active = self.active(question.plant, question.stored_pa, &frame);
        let start_node_pa = frame.node_pa.clone();
        let leg = match active[..] {
            [] => self.rest(question, &frame)?,
            [storage] if trickle_m3(&frame, storage, question) > NO_WATER_M3 => None,
            [storage] => {
                let stretch = self.stretch(question, storage, &frame)?;
                self.leg_of(question, storage, stretch)?
            }
            _ => None,
        };
        Ok(leg.map(|leg| Leg { start_node_pa, ..leg }))
    }

    /// The storages that exchange water now.
    fn active(&self, plant: &Plant, stored_pa: &[f64], frame: &Frame) -> Vec<usize> {
        let moves = |storage: &usize| {
            let net = frame.integrands[*storage];
            // Where a second's flow would change the pressure by less than a rounding, nothing moves.
            let slowly = net.abs() <= NO_CHANGE_PA * plant.storages[*storage].m3_per_pa(stored_pa[*storage]);
            net.abs() > NO_FLOW_M3_PER_S && !slowly
        };
        (0..stored_pa.len()).filter(moves).collect()
    }

    fn stretch(&mut self, question: &Question, storage: usize, frame: &Frame) -> Result<Compliance, SolveError> {
        let &Question { plant, stored_pa, raised, most_s, watches, tolerance } = question;
        let net = frame.integrands[storage];
        let (curves, state) = (&mut self.curves, &mut self.state);
        let mut others = stored_pa.to_vec();
        let store = &plant.storages[storage];
        let mut evaluate = |at: f64, frame: &mut Frame| {
            others[storage] = at;
            state.with_pressures(plant, &others, frame)
        };
        let mut found = None;
        for (index, curve) in curves.iter_mut().enumerate() {
            if curve.may_hold(storage, stored_pa, net) && curve.reach(stored_pa[storage], store, &mut evaluate)? {
                found = Some(index);
                break;
            }
        }
        let index = found.unwrap_or_else(|| {
            curves.push(TransientCurve::new(storage, stored_pa, frame, tolerance));
            curves.len() - 1
        });
        curves[index].run(stored_pa[storage], most_s, watches, raised, store, &mut evaluate)
    }

    /// The leg of a run on a curve; one that has come to rest goes on at rest for the time that is left. Nothing where a curve
    /// ends at once in a state that does not rest.
    fn leg_of(&mut self, question: &Question, storage: usize, stretch: Compliance) -> Result<Option<Leg>, SolveError> {
        let &Question { plant, stored_pa, most_s, .. } = question;
        let mut end_pa = stored_pa.to_vec();
        end_pa[storage] = stretch.end;
        let mut frame = Frame::default();
        self.state.with_pressures(plant, &end_pa, &mut frame)?;
        let mut leg = Leg {
            start_pa: stored_pa.to_vec(),
            end_pa,
            time_s: stretch.time_s,
            integrals: stretch.integrals,
            raised_s: stretch.raised_s,
            raised: if stretch.raised.is_empty() { frame.raised.clone() } else { stretch.raised },
            start_node_pa: Vec::new(),
            end_node_pa: frame.node_pa.clone(),
            event: stretch.event,
        };
        if leg.integrals.is_empty() {
            leg.integrals = vec![0.0; plant.integrands()];
        }
        if stretch.settled {
            let left_s = (most_s - leg.time_s).max(0.0);
            let rest =
                self.rest(&Question { stored_pa: &leg.end_pa, raised: &leg.raised, most_s: left_s, ..*question }, &frame)?;
            if let Some(rest) = rest {
                leg.time_s += rest.time_s;
                leg.end_pa = rest.end_pa;
                leg.end_node_pa = rest.end_node_pa;
                leg.integrals.iter_mut().zip(&rest.integrals).for_each(|(sum, part)| *sum += part);
                leg.raised_s.iter_mut().zip(&rest.raised_s).for_each(|(sum, part)| *sum += part);
            } else if leg.time_s <= 0.0 {
                return Ok(None);
            }
        }
        Ok(Some(leg))
    }

    /// A leg on which nothing changes: water may flow through, but what is stored stays. Nothing where it does move.
    ///
    /// The last hair is settled with the stores in the network, so that not a trickle is left over.
    fn rest(&mut self, question: &Question, frame: &Frame) -> Result<Option<Leg>, SolveError> {
        let &Question { plant, stored_pa, raised, most_s: time_s, .. } = question;
        let mut leg = Leg {
            start_pa: stored_pa.to_vec(),
            integrals: vec![0.0; frame.integrands.len()],
            raised_s: raised.iter().map(|&raised| if raised { time_s } else { 0.0 }).collect(),
            raised: raised.to_vec(),
            start_node_pa: frame.node_pa.clone(),
            end_node_pa: frame.node_pa.clone(),
            end_pa: stored_pa.to_vec(),
            time_s,
            event: false,
        };
        if time_s <= 0.0 {
            return Ok(Some(leg));
        }
        let (integrals, end) = settle(&mut self.state, plant, stored_pa, time_s)?;
        let near = |(before, after): (&f64, &f64)| (after - before).abs() <= RESTS_WITHIN * before.abs() + RESTS_WITHIN_PA;
        if !stored_pa.iter().zip(&end.stored_pa).all(near) {
            return Ok(None);
        }
        (leg.integrals, leg.end_pa, leg.end_node_pa) = (integrals, end.stored_pa, end.node_pa);
        Ok(Some(leg))
    }
}

/// What trickles in or out of all storages but one until the time of a question is over, m3.
fn trickle_m3(frame: &Frame, storage: usize, question: &Question) -> f64 {
    let nets = frame.integrands[..question.stored_pa.len()].iter().enumerate();
    question.most_s * nets.filter(|(index, _)| *index != storage).map(|(_, net)| net.abs()).sum::<f64>()
}

/// Whether no two storages that are open can exchange water.
fn stand_alone(plant: &Plant, state: &State) -> bool {
    let component = components(plant, &state.setting.open);
    let open = |storage: &usize| state.network.carries(plant.storages[*storage].source);
    let mut joined: Vec<usize> = (0..component.len()).filter(open).map(|storage| component[storage]).collect();
    let all = joined.len();
    joined.sort_unstable();
    joined.dedup();
    joined.len() == all
}

/// Whether resistance keeps all storages from sources that hold their pressure.
fn stand_off(plant: &Plant, state: &State) -> bool {
    let (setting, garden) = (&state.setting, &plant.hydraulic);
    let places = &garden.layout().places;
    let of_storage = |place: usize| plant.storages.iter().any(|storage| storage.source == place);
    let stiff: Vec<usize> = (0..plant.garden.parts().len())
        .filter(|&place| setting.open[place] && !of_storage(place) && plant::is_stiff(state.network.law(place)))
        .map(|place| places[place].to)
        .collect();
    let passes = |place: usize| {
        let driven = garden.spec(place).traits.pumps && setting.runs[place];
        if driven { &Law::Closed } else { state.network.law(place) }
    };
    // A drive holds the pressure at the outlet of its booster, whatever flows.
    let held =
        plant.boosters.iter().filter(|&&booster| matches!(state.network.law(booster), Law::Booster { holds_pa: Some(_), .. }));
    let stiff = stiff.into_iter().chain(held.map(|&booster| places[booster].to)).collect();
    let near = plant::near(garden, stiff, |place| setting.open[place], passes);
    plant.storages.iter().filter(|storage| setting.open[storage.source]).all(|storage| !near[places[storage.source].to])
}

/// Numbers storages so that those which open parts join have the same.
fn components(plant: &Plant, open: &[bool]) -> Vec<usize> {
    let layout = plant.hydraulic.layout();
    let mut walk = plant.hydraulic.walk();
    let mut of_node = vec![None; layout.number_of_nodes];
    let nodes: Vec<usize> = plant.storages.iter().map(|storage| layout.places[storage.source].to).collect();
    for &start in &nodes {
        if !walk.has_seen(start) {
            of_node[start] = Some(start);
            for (passage, ()) in walk.from([start], |passage| open[passage.place].then_some(())) {
                of_node[passage.to] = Some(start);
            }
        }
    }
    nodes.into_iter().map(|node| of_node[node].unwrap_or(node)).collect()
}

impl Config {
    /// Which changes of gauges end a leg: those that a switch or guard acts on, and those that are reported.
    pub fn watches(&self, plant: &Plant, deaf: &[bool]) -> Vec<Watch> {
        let watch = |gauge: &super::gauge::Gauge| match gauge.what {
            What::CutIn(switch) if !deaf[switch] && !self.state.setting.runs[plant.switches[switch].booster] => Watch::Rise,
            What::CutOut(switch) if !deaf[switch] && self.state.setting.runs[plant.switches[switch].booster] => Watch::Rise,
            What::Dry | What::Idles(_) => Watch::Rise,
            What::LeastFlow(_) | What::Relief | What::Check | What::Tank { .. } => Watch::Both,
            What::Barrel { .. } => Watch::Fall,
            _ => Watch::Never,
        };
        self.state.gauges.iter().map(watch).collect()
    }
}
