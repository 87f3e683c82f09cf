//! Gauges: values whose change of sign is an event or a kink of the laws. A gauge at or above zero is raised.

use super::frame::Setting;
use super::plant::{Plant, Rule, gets_water};
use super::tolerances::{BARREL_EMPTY_PA, DEAD_HEAD_M3_PER_S, FLOW_SCALE, NO_FLOW_M3_PER_S, STARTS_WITHIN_PA};
use crate::hydraulics::{Network, TAP_FULL_PA};
use crate::laws::friction::{LAMINAR_UP_TO, TURBULENT_FROM};
use crate::parts::{Id, Law, Placing};

/// Reynolds numbers at which the law of friction has a kink.
const KINKS_OF_REYNOLDS: [f64; 2] = [LAMINAR_UP_TO, TURBULENT_FROM];

/// What a gauge reports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// The pressure at switch `0` of the plant is at or below cut-in.
    CutIn(usize),
    /// The pressure at switch `0` of the plant is at or above cut-out.
    CutOut(usize),
    /// The running booster of control or drive `0` of the plant moves no more than that senses.
    LeastFlow(usize),
    /// The water comes to the running booster of drive `0` of the plant with all the pressure that the drive is to hold.
    Idles(usize),
    /// The inlet of a booster is at or below the pressure of its guard.
    Dry,
    /// No water reaches the inlet of a running booster.
    NoWater,
    /// A running booster moves hardly any water.
    DeadHead,
    Relief,
    Check,
    /// The pressure before an outlet is at least what it needs.
    Needs,
    /// The house tap at a supply has at least what is to be left there.
    Tap,
    /// A tank holds water.
    Tank {
        storage: usize,
    },
    /// An open tank holds water.
    Barrel {
        storage: usize,
    },
    /// Nothing happens, but the law has a kink.
    Kink(Kink),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kink {
    Reynolds(f64),
    PumpCurve(f64),
    Flows,
    Held,
    /// Water parts as it enters the part.
    Parted,
    /// A demand has all the pressure it needs.
    Full,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    pub place: usize,
    pub what: What,
}

/// The gauges of a configuration.
pub fn gauges(plant: &Plant, network: &Network, setting: &Setting) -> Vec<Gauge> {
    let mut gauges = Vec::new();
    for (index, switch) in plant.switches.iter().enumerate() {
        if switch.rule.cut_in_pa().is_some() {
            gauges.push(Gauge { place: switch.place, what: What::CutIn(index) });
        }
        match switch.rule {
            Rule::Pressure { .. } => gauges.push(Gauge { place: switch.place, what: What::CutOut(index) }),
            Rule::Flow { holds_pa, .. } if setting.runs[switch.booster] => {
                gauges.push(Gauge { place: switch.booster, what: What::LeastFlow(index) });
                gauges.extend(holds_pa.map(|_| Gauge { place: switch.booster, what: What::Idles(index) }));
            }
            Rule::Flow { .. } | Rule::Zones { .. } => {}
        }
    }
    for (index, storage) in plant.storages.iter().enumerate() {
        gauges.extend(storage.kinks_pa().map(|(place, _)| Gauge { place, what: What::Tank { storage: index } }));
        if let Some(barrel) = storage.barrel {
            gauges.push(Gauge { place: barrel.place, what: What::Barrel { storage: index } });
        }
    }
    for (place, part) in plant.garden.parts().iter().enumerate() {
        if network.carries(place) {
            gauges_of_part(plant, network, &setting.runs, place, &mut gauges);
        }
        if part.traits().pumps && setting.runs[place] {
            let wet = gets_water(&plant.hydraulic, place, &setting.open);
            gauges.push(Gauge { place, what: if wet { What::DeadHead } else { What::NoWater } });
        }
    }
    gauges
}

fn gauges_of_part(plant: &Plant, network: &Network, runs: &[bool], place: usize, gauges: &mut Vec<Gauge>) {
    let part = &plant.garden.parts()[place];
    let mut add = |what| gauges.push(Gauge { place, what });
    if network.may_part(place) {
        add(What::Kink(Kink::Parted));
    }
    match network.law(place) {
        Law::Friction { .. } => KINKS_OF_REYNOLDS.iter().for_each(|&reynolds| add(What::Kink(Kink::Reynolds(reynolds)))),
        Law::OneWay { .. } => add(What::Check),
        Law::Regulator { .. } => {
            add(What::Kink(Kink::Held));
            add(What::Kink(Kink::Flows));
        }
        Law::Relief { .. } => add(What::Relief),
        Law::Booster { curve, holds_pa } if runs[place] => {
            if holds_pa.is_some() {
                add(What::Kink(Kink::Held));
                add(What::Kink(Kink::Flows));
            }
            curve.corners().for_each(|flow| add(What::Kink(Kink::PumpCurve(flow))));
            if part.si(Id::DryRunCutoff).is_some() {
                add(What::Dry);
            }
        }
        Law::Source { .. } => {
            add(What::Kink(Kink::Flows));
            if part.spec().is_main() {
                add(What::Tap);
            }
        }
        _ if part.spec().placing == Placing::Outlet => {
            add(What::Kink(Kink::Flows));
            if part.traits().demands {
                add(What::Kink(Kink::Full));
            }
            if part.needs_pa().is_some() {
                add(What::Needs);
            }
        }
        _ if part.traits().pumps => add(What::Kink(Kink::Flows)),
        _ => {}
    }
}

impl Gauge {
    /// Its value in a state: `node_pa` from the network, `stored_pa` the pressures of the storages. A check valve is open when it
    /// passes more than `least_flow`, m3/s.
    pub fn value(&self, plant: &Plant, network: &Network, node_pa: &[f64], stored_pa: &[f64], least_flow: f64) -> f64 {
        let joint = &plant.garden.layout().places[self.place];
        let part = &plant.garden.parts()[self.place];
        let value = match self.what {
            What::CutIn(switch) => {
                let cut_in_pa = plant.switches[switch].rule.cut_in_pa();
                cut_in_pa.map_or(-1.0, |cut_in_pa| cut_in_pa + STARTS_WITHIN_PA - node_pa[joint.to])
            }
            What::CutOut(switch) => match plant.switches[switch].rule {
                Rule::Pressure { cut_out_pa, .. } => node_pa[joint.to] - cut_out_pa,
                _ => -1.0,
            },
            What::LeastFlow(switch) => match plant.switches[switch].rule {
                Rule::Flow { least_m3_per_s, .. } => (least_m3_per_s - network.flow(self.place)) * FLOW_SCALE,
                _ => -1.0,
            },
            What::Idles(switch) => match plant.switches[switch].rule {
                Rule::Flow { holds_pa: Some(holds_pa), .. } => node_pa[joint.from] - holds_pa,
                _ => -1.0,
            },
            What::Dry => part.si(Id::DryRunCutoff).map_or(-1.0, |stop_pa| stop_pa - node_pa[joint.from]),
            What::NoWater => 1.0,
            What::DeadHead => (DEAD_HEAD_M3_PER_S - network.flow(self.place)) * FLOW_SCALE,
            What::Relief => match network.law(self.place) {
                Law::Relief { set_pa, .. } => node_pa[joint.to] - set_pa,
                _ => -1.0,
            },
            What::Needs => part.needs_pa().map_or(1.0, |low_pa| node_pa[joint.to] - low_pa),
            What::Tap => node_pa[joint.to] - plant.garden.least_tap_pa(),
            What::Tank { storage } => {
                let kink = plant.storages[storage].kinks_pa().find(|(place, _)| *place == self.place);
                kink.map_or(1.0, |(_, kink_pa)| stored_pa[storage] - kink_pa)
            }
            What::Barrel { storage } => stored_pa[storage] - BARREL_EMPTY_PA,
            What::Check => signed(network.flow(self.place), least_flow),
            What::Kink(Kink::Flows) => signed(network.flow(self.place), NO_FLOW_M3_PER_S),
            What::Kink(Kink::Held) => {
                if network.is_held(self.place) {
                    1.0
                } else {
                    -1.0
                }
            }
            What::Kink(Kink::Parted) => {
                if network.is_parted(self.place) {
                    1.0
                } else {
                    -1.0
                }
            }
            What::Kink(Kink::Full) => node_pa[joint.to] - TAP_FULL_PA,
            What::Kink(Kink::PumpCurve(flow)) => (network.flow(self.place) - flow) * FLOW_SCALE,
            What::Kink(Kink::Reynolds(reynolds)) => match network.law(self.place) {
                Law::Friction { pipe, .. } => pipe.reynolds(network.flow(self.place)) - reynolds,
                _ => -1.0,
            },
        };
        // Where no supply reaches nothing is read.
        if value.is_nan() { -1.0 } else { value }
    }
}

fn signed(flow: f64, least: f64) -> f64 {
    if flow > least { flow * FLOW_SCALE } else { -1.0 }
}
