//! Gardens with several storages over time beside an integrator written for this test alone: own laws of friction, nozzles and
//! stored water, flows by bracketed roots from the pressures of the storages, an explicit Runge-Kutta method with small steps.
//!
//! The gardens are stars: storages, supply and outlets hang on one place, each by a line of its own.

mod support;

use hosewright::garden::Garden;
use hosewright::operation::{EventKind, HandOpening, Schedule, operate};
use hosewright::parts::Kind;
use hosewright::quantity::{Quantity, dim};
use hosewright::water::Water;
use std::f64::consts::PI;
use support::{line, part, q};

const AIR_PA: f64 = 101_325.0;
const GRAVITY: f64 = 9.80665;
const BORE_M: f64 = 20e-3;

/// Numbers that look random and are always the same.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// What stores water at the end of a leg.
#[derive(Clone, Copy, Debug)]
enum Store {
    Tank { m3: f64, precharge_pa: f64 },
    Soft { m3_per_pa: f64 },
    Barrel { m3_per_pa: f64, full_pa: f64 },
}

#[derive(Clone, Copy, Debug)]
struct Leg {
    store: Store,
    length_m: f64,
    diameter_m: f64,
    rise_m: f64,
    checked: bool,
}

#[derive(Clone, Copy, Debug)]
struct Pump {
    zero_pa: f64,
    last: (f64, f64),
    cut_in_pa: f64,
    cut_out_pa: f64,
}

/// A star of legs.
#[derive(Clone, Debug)]
struct Star {
    static_pa: f64,
    supply_k: f64,
    feed: (f64, f64),
    pump: Option<Pump>,
    legs: Vec<Leg>,
    nozzle_m: f64,
    regulated: Option<(f64, f64)>,
    relief: Option<(f64, f64)>,
    open_s: (f64, f64),
    water: Water,
    squeezed: f64,
}

fn area(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}

impl Star {
    fn of_k(&self, k: f64, diameter_m: f64) -> f64 {
        k * self.water.density_kg_per_m3 / 2.0 / area(diameter_m).powi(2)
    }

    /// Loss of a smooth hose, Darcy-Weisbach with its own factor.
    fn hose_pa(&self, (length_m, diameter_m): (f64, f64), flow: f64) -> f64 {
        let (rho, mu) = (self.water.density_kg_per_m3, self.water.viscosity_pa_s);
        let speed = flow / area(diameter_m);
        let reynolds = rho * speed.abs() * diameter_m / mu;
        let rough = 1.5e-6 / diameter_m;
        let colebrook = |reynolds: f64| {
            let mut x: f64 = 7.0;
            for _ in 0..9 {
                x = -2.0 * (rough / 3.7 + 2.51 * x / reynolds).log10();
            }
            1.0 / (x * x)
        };
        if reynolds <= 2000.0 {
            return 128.0 * mu * length_m * flow / (PI * diameter_m.powi(4));
        }
        let factor = if reynolds >= 4000.0 {
            colebrook(reynolds)
        } else {
            0.032 + (colebrook(4000.0) - 0.032) * (reynolds - 2000.0) / 2000.0
        };
        factor * length_m / diameter_m * rho / 2.0 * speed * speed.abs()
    }

    /// The pressure of a store that holds a volume.
    fn pressure_pa(&self, store: Store, volume_m3: f64) -> f64 {
        match store {
            Store::Barrel { m3_per_pa, .. } => volume_m3 / m3_per_pa,
            Store::Soft { m3_per_pa } => volume_m3 / (m3_per_pa + self.squeezed),
            Store::Tank { .. } => root(-1e6, 1e8, |pressure_pa| self.volume_m3(store, pressure_pa) - volume_m3),
        }
    }

    fn volume_m3(&self, store: Store, pressure_pa: f64) -> f64 {
        match store {
            Store::Barrel { m3_per_pa, .. } => m3_per_pa * pressure_pa,
            Store::Soft { m3_per_pa } => (m3_per_pa + self.squeezed) * pressure_pa,
            Store::Tank { m3, precharge_pa } => {
                let air_m3 = m3 * (precharge_pa + AIR_PA) / (pressure_pa.max(precharge_pa) + AIR_PA);
                m3 - air_m3 + self.squeezed * pressure_pa
            }
        }
    }

    /// Flow into the middle from a leg whose store stands at a pressure.
    fn leg_inflow(&self, leg: &Leg, store_pa: f64, middle_pa: f64) -> f64 {
        let drop_pa = store_pa + self.weight(leg.rise_m) - middle_pa;
        if leg.checked && drop_pa <= 0.0 {
            return 0.0;
        }
        let k = if leg.checked { self.of_k(2.0, BORE_M) } else { 0.0 };
        root(-0.02, 0.02, |flow| self.hose_pa((leg.length_m, leg.diameter_m), flow) + k * flow * flow.abs() - drop_pa)
    }

    fn weight(&self, height_m: f64) -> f64 {
        self.water.density_kg_per_m3 * GRAVITY * height_m
    }

    fn supply_inflow(&self, middle_pa: f64, on: bool) -> f64 {
        let check = self.of_k(2.0, BORE_M);
        let over = |flow: f64| {
            let lift_pa = match self.pump {
                Some(pump) if on => pump.zero_pa + (pump.last.1 - pump.zero_pa) * flow / pump.last.0,
                _ => 0.0,
            };
            middle_pa + self.hose_pa(self.feed, flow) + (check + self.supply_k) * flow * flow - lift_pa - self.static_pa
        };
        if over(0.0) >= 0.0 { 0.0 } else { root(0.0, 0.02, over) }
    }

    fn outlets(&self, middle_pa: f64) -> f64 {
        let jet = |diameter_m: f64| 1.0 / (0.96 * area(diameter_m)).powi(2) * self.water.density_kg_per_m3 / 2.0;
        let valve = self.of_k(2.3, BORE_M);
        let mut sum = if middle_pa > 0.0 { (middle_pa / (jet(self.nozzle_m) + valve)).sqrt() } else { 0.0 };
        if let Some((set_pa, diameter_m)) = self.regulated.filter(|_| middle_pa > 0.0) {
            let wide = (middle_pa / (jet(diameter_m) + valve + self.of_k(10.0, BORE_M))).sqrt();
            let held = (set_pa / jet(diameter_m)).sqrt();
            sum += wide.min(held);
        }
        sum
    }

    fn relieved(&self, middle_pa: f64) -> f64 {
        self.relief.map_or(0.0, |(set_pa, pa_s_per_m3)| (middle_pa - set_pa).max(0.0) / pa_s_per_m3)
    }

    /// Pressure in the middle, and the flow out of each store, out of the supply and out of the outlets.
    fn flows(&self, volumes_m3: &[f64], open: bool, on: bool) -> (f64, Vec<f64>, f64, f64) {
        let stands: Vec<f64> =
            self.legs.iter().zip(volumes_m3).map(|(leg, &volume)| self.pressure_pa(leg.store, volume)).collect();
        let out = |pressure_pa: f64| if open { self.outlets(pressure_pa) } else { 0.0 } + self.relieved(pressure_pa);
        let excess = |pressure_pa: f64| {
            let legs: f64 = self.legs.iter().zip(&stands).map(|(leg, &stand)| self.leg_inflow(leg, stand, pressure_pa)).sum();
            out(pressure_pa) - legs - self.supply_inflow(pressure_pa, on)
        };
        let middle_pa = root(-1e5, 2e6, excess);
        let legs = self.legs.iter().zip(&stands).map(|(leg, &stand)| self.leg_inflow(leg, stand, middle_pa)).collect();
        (middle_pa, legs, self.supply_inflow(middle_pa, on), out(middle_pa))
    }

    /// Derivatives of the volumes, and then the flows of supply and outlets.
    fn slopes(&self, state: &[f64], open: bool, on: bool) -> Vec<f64> {
        let n = self.legs.len();
        let (_, legs, supplied, out) = self.flows(&state[..n], open, on);
        let mut slopes: Vec<f64> = legs.iter().map(|flow| -flow).collect();
        for (k, leg) in self.legs.iter().enumerate() {
            if let Store::Barrel { full_pa, m3_per_pa } = leg.store
                && state[k] >= full_pa * m3_per_pa * (1.0 - 1e-12)
            {
                slopes[k] = slopes[k].min(0.0);
            }
        }
        slopes.extend([supplied, out]);
        slopes
    }

    /// One step of the method of Dormand and Prince, with its error.
    fn step(&self, state: &[f64], h: f64, open: bool, on: bool) -> (Vec<f64>, f64) {
        const A: [&[f64]; 7] = [
            &[],
            &[1.0 / 5.0],
            &[3.0 / 40.0, 9.0 / 40.0],
            &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
            &[19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0],
            &[9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0],
            &[35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
        ];
        const E: [f64; 7] = [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];
        let mut slopes: Vec<Vec<f64>> = Vec::new();
        let mut at = state.to_vec();
        for row in A {
            at = state.to_vec();
            for (weight, slope) in row.iter().zip(&slopes) {
                at.iter_mut().zip(slope).for_each(|(at, slope)| *at += h * weight * slope);
            }
            slopes.push(self.slopes(&at, open, on));
        }
        let off = |k: usize| (h * E.iter().zip(&slopes).map(|(weight, slope)| weight * slope[k]).sum::<f64>()).abs();
        let error = (0..self.legs.len()).map(|k| off(k) / (1e-9 + 1e-7 * state[k].abs())).fold(0.0, f64::max);
        (at, error)
    }

    /// Runs to a time; gives volumes with supplied and discharged water, and when the pump started or stopped.
    fn run(&self, start_m3: &[f64], until_s: f64) -> (Vec<f64>, Vec<f64>) {
        let n = self.legs.len();
        let mut state = [start_m3, &[0.0, 0.0]].concat();
        let (mut time_s, mut h, mut on) = (0.0f64, 1e-3f64, false);
        let mut turns = Vec::new();
        let opens = |time_s: f64| self.open_s.0 <= time_s && time_s < self.open_s.1;
        while time_s < until_s {
            let open = opens(time_s);
            if let Some(pump) = self.pump {
                let middle_pa = self.flows(&state[..n], open, on).0;
                let wish = if on { middle_pa < pump.cut_out_pa } else { middle_pa <= pump.cut_in_pa };
                if wish != on {
                    on = wish;
                    turns.push(time_s);
                    h = 1e-3;
                    continue;
                }
            }
            let stop_s =
                [self.open_s.0, self.open_s.1, until_s].into_iter().filter(|&at_s| at_s > time_s).fold(until_s, f64::min);
            let length = h.min(stop_s - time_s);
            let (next, error) = self.step(&state, length, open, on);
            if error > 1.0 {
                h = length * (0.9 * error.powf(-0.2)).clamp(0.2, 0.9);
                continue;
            }
            let past = |next: &[f64]| {
                self.pump.is_some_and(|pump| {
                    let middle_pa = self.flows(&next[..n], open, on).0;
                    if on { middle_pa >= pump.cut_out_pa } else { middle_pa <= pump.cut_in_pa }
                })
            };
            if past(&next) {
                let (mut low, mut high) = (0.0, length);
                while high - low > 1e-7 {
                    let middle = 0.5 * (low + high);
                    if past(&self.step(&state, middle, open, on).0) { high = middle } else { low = middle }
                }
                state = self.step(&state, high, open, on).0;
                time_s += high;
                continue;
            }
            state = next;
            time_s = if length == stop_s - time_s { stop_s } else { time_s + length };
            h = length * (0.9 * error.max(1e-10).powf(-0.2)).clamp(0.2, 5.0);
        }
        (state, turns)
    }

    /// The same garden in the words of the crate.
    fn garden(&self) -> Garden {
        let diameter = ("diameter", si(BORE_M, dim::LENGTH));
        let flow = 1e-4;
        let supply = part(
            Kind::Supply,
            "main",
            &[
                ("static_pressure", si(self.static_pa, dim::PRESSURE)),
                ("measured_pressure", si(self.static_pa - self.supply_k * flow * flow, dim::PRESSURE)),
                ("measured_flow", si(flow, dim::FLOW)),
            ],
        );
        let mut parts = vec![supply, part(Kind::CheckValve, "guard", &[diameter])];
        if let Some(pump) = self.pump {
            let curve = [(0.0, pump.zero_pa), pump.last];
            let booster = hosewright::parts::Part::new(Kind::Booster).named("pump").and_then(|pump| pump.with_curve(&curve));
            parts.push(Garden::of(booster.expect("a pump")));
        }
        parts.push(hose("feed", self.feed.0, self.feed.1, 0.0));
        if let Some(pump) = self.pump {
            let points = [("cut_in", si(pump.cut_in_pa, dim::PRESSURE)), ("cut_out", si(pump.cut_out_pa, dim::PRESSURE))];
            parts.push(part(Kind::PressureSwitch, "switch", &points));
        }
        parts.push(part(Kind::Point, "middle", &[]));
        let mut garden = line(&parts);
        for (number, leg) in self.legs.iter().enumerate() {
            garden = self.with_leg(&garden, number, leg);
        }
        let valve = |name: &str| part(Kind::Valve, name, &[diameter]);
        let head = |name: &str, diameter_m: f64| part(Kind::Head, name, &[("nozzle", si(diameter_m, dim::LENGTH))]);
        garden = garden.branch("middle", &line(&[valve("zone"), head("jet", self.nozzle_m)])).expect("joins");
        if let Some((set_pa, diameter_m)) = self.regulated {
            let regulator = part(Kind::Regulator, "regulator", &[("set", si(set_pa, dim::PRESSURE)), diameter]);
            garden = garden.branch("middle", &line(&[valve("bed"), regulator, head("mist", diameter_m)])).expect("joins");
        }
        if let Some((set_pa, pa_s_per_m3)) = self.relief {
            let over_pa = 5e4;
            let numbers = [
                ("set", si(set_pa, dim::PRESSURE)),
                ("flow", si(over_pa / pa_s_per_m3, dim::FLOW)),
                ("overpressure", si(over_pa, dim::PRESSURE)),
            ];
            garden = garden.branch("middle", &relief(&numbers)).expect("joins");
        }
        garden
    }

    fn with_leg(&self, garden: &Garden, number: usize, leg: &Leg) -> Garden {
        let (tank, hosed, rise) = (format!("store {number}"), format!("leg {number}"), format!("rise {number}"));
        let check = part(Kind::CheckValve, &format!("check {number}"), &[("diameter", si(BORE_M, dim::LENGTH))]);
        let climb = part(Kind::Uphill, &rise, &[("height", si(leg.rise_m, dim::LENGTH))]);
        match leg.store {
            Store::Barrel { m3_per_pa, full_pa } => {
                let level_m = full_pa / self.weight(1.0);
                let numbers = [("level", si(level_m, dim::LENGTH)), ("volume", si(m3_per_pa * full_pa, dim::VOLUME))];
                let down = part(Kind::Uphill, &rise, &[("height", si(-leg.rise_m, dim::LENGTH))]);
                let barrel =
                    [part(Kind::OpenTank, &tank, &numbers), check, hose(&hosed, leg.length_m, leg.diameter_m, 0.0), down];
                garden.add_source("middle", &line(&barrel)).expect("joins")
            }
            Store::Soft { m3_per_pa } => {
                let soft = hose(&hosed, leg.length_m, leg.diameter_m, m3_per_pa / leg.length_m);
                garden.branch("middle", &line(&[climb, soft])).expect("joins")
            }
            Store::Tank { m3, precharge_pa } => {
                let numbers = [("volume", si(m3, dim::VOLUME)), ("precharge", si(precharge_pa, dim::PRESSURE))];
                let leg = [climb, hose(&hosed, leg.length_m, leg.diameter_m, 0.0), part(Kind::PressureTank, &tank, &numbers)];
                garden.branch("middle", &line(&leg)).expect("joins")
            }
        }
    }
}

fn relief(numbers: &[(&str, Quantity)]) -> Garden {
    let known: Vec<&str> = Kind::Relief.spec().parameters.iter().map(|number| number.name()).collect();
    assert!(numbers.iter().all(|(name, _)| known.contains(name)), "a relief has {known:?}");
    part(Kind::Relief, "relief", numbers)
}

fn si(value: f64, dimension: hosewright::quantity::Dimension) -> Quantity {
    Quantity::new(value, dimension)
}

fn hose(name: &str, length_m: f64, diameter_m: f64, stretch: f64) -> Garden {
    let mut numbers = vec![("length", si(length_m, dim::LENGTH)), ("diameter", si(diameter_m, dim::LENGTH))];
    if stretch > 0.0 {
        numbers.push(("compliance", si(stretch, dim::COMPLIANCE)));
    }
    part(Kind::Hose, name, &numbers)
}

/// Where a rising function is zero: false position with halving (Illinois).
fn root(low: f64, high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let (mut at_low, mut at_high) = (value(low), value(high));
    let mut side = 0;
    for _ in 0..200 {
        let at = high - at_high * (high - low) / (at_high - at_low);
        if !(at > low && at < high) || high - low < 1e-15 * (low.abs() + high.abs()) {
            return if at.is_finite() { at } else { 0.5 * (low + high) };
        }
        let here = value(at);
        if here == 0.0 {
            return at;
        }
        if here > 0.0 {
            (high, at_high) = (at, here);
            if side == 1 {
                at_low *= 0.5;
            }
            side = 1;
        } else {
            (low, at_low) = (at, here);
            if side == -1 {
                at_high *= 0.5;
            }
            side = -1;
        }
    }
    0.5 * (low + high)
}

fn star(number: u64) -> Star {
    let mut dice = Dice(number * 7919 + 11);
    let water = *support::line(&[part(Kind::Supply, "main", &[("static_pressure", q(1.0, "bar"))])]).water();
    let static_pa = dice.between(2e5, 4e5);
    let mut legs = Vec::new();
    let n = 2 + (dice.next() * 4.0) as usize;
    for index in 0..n {
        let kind = if index == 0 { 0.0 } else { dice.next() };
        let (length_m, diameter_m, rise_m) = (dice.between(8.0, 25.0), dice.between(9e-3, 13e-3), dice.between(-3.0, 3.0));
        let store = if kind < 0.45 {
            Store::Tank { m3: dice.between(8e-3, 40e-3), precharge_pa: dice.between(0.1e5, 0.5e5) }
        } else if kind < 0.75 {
            Store::Soft { m3_per_pa: dice.between(1.5e-9, 6e-9) }
        } else {
            let full_pa = dice.between(8e3, 2e4);
            Store::Barrel { m3_per_pa: dice.between(0.2, 0.6) / full_pa, full_pa }
        };
        let checked = matches!(store, Store::Barrel { .. });
        // A barrel stands above the middle by its rise.
        let rise_m = if checked { rise_m.abs() } else { rise_m };
        legs.push(Leg { store, length_m, diameter_m, rise_m, checked });
    }
    let pump = (dice.next() < 0.5).then(|| {
        let cut_in_pa = static_pa - dice.between(0.1e5, 0.4e5);
        Pump {
            zero_pa: dice.between(3e5, 4e5),
            last: (dice.between(8e-4, 1.2e-3), dice.between(0.2e5, 0.8e5)),
            cut_in_pa,
            cut_out_pa: cut_in_pa + dice.between(1.4e5, 2e5),
        }
    });
    let feed = (dice.between(10.0, 40.0), dice.between(13e-3, 19e-3));
    let nozzle_m = dice.between(2e-3, 3.2e-3);
    let regulated = (dice.next() < 0.5).then(|| (dice.between(0.8e5, 1.6e5), dice.between(2e-3, 3.5e-3)));
    let relief = (dice.next() < 0.3).then(|| (static_pa + dice.between(0.5e5, 1.2e5), 5e4 / dice.between(2e-4, 6e-4)));
    let hoses = std::iter::once(feed).chain(legs.iter().map(|leg| (leg.length_m, leg.diameter_m)));
    let line_m3: f64 = hoses.map(|(length_m, diameter_m)| area(diameter_m) * length_m).sum();
    let elastic = legs.iter().filter(|leg| !leg.checked).count();
    Star {
        static_pa,
        supply_k: dice.between(0.5e5, 1.5e5) / 9e-8,
        feed,
        pump,
        legs,
        nozzle_m,
        regulated,
        relief,
        open_s: (20.0, 20.0 + dice.between(100.0, 300.0)),
        water,
        squeezed: line_m3.max(1e-3) / 2.15e9 / elastic as f64,
    }
}

#[test]
fn twenty_stars_of_storages_agree_with_an_integrator_of_their_own() {
    const UNTIL_S: f64 = 420.0;
    for number in 1..=20 {
        let star = star(number);
        let garden = star.garden();
        let zones: Vec<&str> = if star.regulated.is_some() { vec!["zone", "bed"] } else { vec!["zone"] };
        let draws = zones.iter().map(|zone| HandOpening {
            name: (*zone).into(),
            at_s: star.open_s.0,
            lasting_s: star.open_s.1 - star.open_s.0,
            every_s: None,
        });
        let schedule = Schedule { by_hand: draws.collect(), ..Schedule::default() };
        let log = operate(&garden, &schedule, UNTIL_S).expect("runs");
        // At rest all stand at the pressure of the main, barrels at their rim.
        let start = |leg: &Leg| match leg.store {
            Store::Barrel { full_pa, .. } => full_pa,
            _ => star.static_pa - star.weight(leg.rise_m),
        };
        let start_m3: Vec<f64> = star.legs.iter().map(|leg| star.volume_m3(leg.store, start(leg))).collect();
        let (end, turns) = star.run(&start_m3, UNTIL_S);
        let switched: Vec<f64> = log
            .events()
            .filter(|event| matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops))
            .map(|event| event.time_s)
            .collect();
        assert_eq!(switched.len(), turns.len(), "star {number}: {switched:?} {turns:?}");
        for (found, expected) in switched.iter().zip(&turns) {
            assert!((found - expected).abs() < 1e-4 * UNTIL_S, "star {number}: {switched:?} {turns:?}");
        }
        let n = star.legs.len();
        let (supplied, out) = (end[n], end[n + 1]);
        let totals = log.totals();
        let scale = out.max(1e-3);
        assert!((totals.supplied_m3 - supplied).abs() < 1e-4 * scale, "star {number}: {} {supplied}", totals.supplied_m3);
        assert!((totals.discharged_m3 - out).abs() < 1e-4 * scale, "star {number}: {} {out}", totals.discharged_m3);
        for (index, leg) in star.legs.iter().enumerate().filter(|(_, leg)| !leg.checked) {
            let name = if matches!(leg.store, Store::Tank { .. }) { format!("store {index}") } else { format!("leg {index}") };
            let found = log.last_pa(garden.find(&name).expect("a name")).expect("a pressure");
            let expected = star.pressure_pa(leg.store, end[index]);
            assert!((found - expected).abs() < 1e-4 * star.static_pa, "star {number}, {name}: {found} {expected}");
        }
        assert!(totals.error_m3().abs() < 1e-11, "star {number}: {totals:?}");
    }
}
