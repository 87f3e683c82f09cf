//! Random gardens of all kinds of parts: sources, loops, hills, and anything in line anywhere, either way round.

use hosewright::garden::Garden;
use hosewright::parts::{Id, Kind, Part};
use hosewright::quantity::{Quantity, find_unit};

/// Random numbers from a seed (the step of splitmix64).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, number: usize) -> usize {
        (self.next() % number as u64) as usize
    }

    pub fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }
}

fn q(value: f64, unit: &str) -> Quantity {
    if unit.is_empty() { Quantity::number(value) } else { Quantity::written(value, find_unit(unit).expect("a unit")) }
}

fn part(kind: Kind, numbers: &[(&str, f64, &str)]) -> Part {
    let numbers: Vec<_> = numbers.iter().map(|&(name, value, unit)| (name, q(value, unit))).collect();
    Part::of_words(kind, None, &numbers).expect("a sound part")
}

/// A garden in the making: parts with the nodes before and behind them.
struct Plot {
    dice: Dice,
    parts: Vec<Part>,
    joints: Vec<(usize, usize)>,
    nodes: usize,
    heights_m: Vec<f64>,
}

/// The garden of a seed.
pub fn garden(seed: u64) -> Garden {
    let mut plot = Plot { dice: Dice::new(seed), parts: Vec::new(), joints: Vec::new(), nodes: 0, heights_m: Vec::new() };
    let junctions = 2 + plot.dice.below(5);
    let hilly = plot.dice.chance(0.5);
    for _ in 0..junctions {
        let height_m = if hilly { plot.dice.between(-6.0, 12.0) } else { 0.0 };
        plot.node(height_m);
    }
    for junction in 1..junctions {
        let other = plot.dice.below(junction);
        plot.leg(other, junction);
    }
    for _ in 0..plot.dice.below(4) {
        let (a, b) = (plot.dice.below(junctions), plot.dice.below(junctions));
        if a != b {
            plot.leg(a, b);
        }
    }
    for source in 0..1 + plot.dice.below(3) {
        let at = if source == 0 { 0 } else { plot.dice.below(junctions) };
        plot.source(at);
    }
    for _ in 0..1 + plot.dice.below(2 + junctions) {
        let at = plot.dice.below(junctions);
        plot.outlet(at);
    }
    plot.drive(seed);
    Garden::from_joints(plot.parts, &plot.joints).expect("joins")
}

impl Plot {
    fn node(&mut self, height_m: f64) -> usize {
        self.heights_m.push(height_m);
        self.nodes += 1;
        self.nodes - 1
    }

    fn put(&mut self, part: Part, from: usize, to: usize) {
        self.parts.push(part);
        self.joints.push((from, to));
    }

    /// Parts in line from one node to another, always a hose among them, and the climb between their heights.
    fn leg(&mut self, from: usize, to: usize) {
        let mut chain = vec![self.hose()];
        for _ in 0..self.dice.below(3) {
            let part = self.inline();
            let at = self.dice.below(chain.len() + 1);
            chain.insert(at, part);
        }
        let rise_m = self.heights_m[to] - self.heights_m[from];
        if rise_m != 0.0 {
            let kind = if rise_m > 0.0 { Kind::Uphill } else { Kind::Downhill };
            let climb = part(kind, &[("height", rise_m.abs(), "m")]);
            let at = self.dice.below(chain.len() + 1);
            chain.insert(at, climb);
        }
        let mut here = from;
        let last = chain.len() - 1;
        for (index, piece) in chain.into_iter().enumerate() {
            let next = if index == last { to } else { self.node(f64::NAN) };
            // One way or the other; a climb turned round would climb down.
            let turned = !matches!(piece.kind(), Kind::Uphill | Kind::Downhill) && self.dice.chance(0.3);
            let (a, b) = if turned { (next, here) } else { (here, next) };
            self.put(piece, a, b);
            here = next;
        }
    }

    fn hose(&mut self) -> Part {
        let dice = &mut self.dice;
        let kind = if dice.chance(0.8) { Kind::Hose } else { Kind::Pipe };
        let size = [("length", dice.between(1.0, 60.0), "m"), ("diameter", dice.between(8.0, 26.0), "mm")];
        let more = match dice.below(4) {
            0 => ("hazen_williams_c", dice.between(90.0, 150.0), ""),
            1 => ("roughness", dice.between(0.0, 0.3), "mm"),
            2 => ("minor_k", dice.between(0.0, 20.0), ""),
            _ => ("minor_k", 0.0, ""),
        };
        part(kind, &[size[0], size[1], more])
    }

    fn inline(&mut self) -> Part {
        let dice = &mut self.dice;
        let size = match dice.below(3) {
            0 => Some(("diameter", dice.between(8.0, 26.0), "mm")),
            1 => Some(("cv", dice.between(1.0, 12.0), "")),
            _ => None,
        };
        let of = |kind: Kind, numbers: &[(&str, f64, &str)]| part(kind, &numbers.iter().copied().chain(size).collect::<Vec<_>>());
        match dice.below(12) {
            0 => of(Kind::Fitting, &[("k", dice.between(0.0, 20.0), "")]),
            1 => {
                let loss = [("loss", dice.between(0.5, 6.0), "psi"), ("flow", dice.between(3.0, 10.0), "gpm")];
                if dice.chance(0.3) {
                    part(Kind::Injector, &loss)
                } else {
                    part(Kind::Filter, &[loss[0], loss[1], ("open_area", dice.between(0.3, 1.0), "")])
                }
            }
            2 => part(Kind::Meter, &[("loss", dice.between(0.5, 6.0), "psi"), ("flow", dice.between(3.0, 10.0), "gpm")]),
            3 => part(Kind::Restrictor, &[("bore", dice.between(5.0, 20.0), "mm")]),
            4 => {
                let kind = [Kind::Valve, Kind::DiaphragmValve, Kind::HoseTimer][dice.below(3)];
                of(kind, &[("k", dice.between(0.5, 5.0), "")])
            }
            5 | 6 => {
                let kind = if dice.chance(0.8) { Kind::CheckValve } else { Kind::FootValve };
                of(kind, &[("cracking_pressure", dice.between(0.0, 1.0).powi(3), "psi")])
            }
            7 => {
                let kinds = [
                    Kind::Backflow,
                    Kind::DoubleCheck,
                    Kind::ReducedPressure,
                    Kind::PressureVacuumBreaker,
                    Kind::AtmosphericVacuumBreaker,
                    Kind::HoseVacuumBreaker,
                ];
                of(kinds[dice.below(6)], &[("cracking_pressure", dice.between(0.0, 2.0), "psi")])
            }
            8 | 9 => of(Kind::Regulator, &[("set", dice.between(0.4, 4.0), "bar")]),
            10 => self.booster(),
            _ => self.hose(),
        }
    }

    fn booster(&mut self) -> Part {
        let dice = &mut self.dice;
        let (rise_pa, flow) = (dice.between(0.3e5, 4e5), dice.between(2e-4, 2e-3));
        let points = [(0.0, rise_pa), (0.5 * flow, dice.between(0.7, 0.95) * rise_pa), (flow, dice.between(0.0, 0.5) * rise_pa)];
        let pump = Part::new(Kind::Booster).with_curve(&points).expect("a pump");
        pump.with(&[(Id::Speed, q(dice.between(0.7, 1.1), ""))]).expect("a speed")
    }

    /// In one of three gardens a drive on the first booster, with dice of its own.
    fn drive(&mut self, seed: u64) {
        let mut dice = Dice::new(seed ^ 0xD21E);
        let booster = self.parts.iter().position(|part| part.kind() == Kind::Booster);
        let Some(booster) = booster.filter(|_| seed.is_multiple_of(3)) else { return };
        let set_bar = dice.between(0.5, 6.0);
        let margin_bar = set_bar * dice.between(0.02, 0.3);
        let drive = part(Kind::Drive, &[("set", set_bar, "bar"), ("start_margin", margin_bar, "bar")]);
        let outlet = self.joints[booster].1;
        self.put(drive, outlet, outlet);
    }

    fn source(&mut self, at: usize) {
        let near = self.node(self.heights_m[at]);
        self.leg(near, at);
        let dice = &mut self.dice;
        let source = if dice.chance(0.4) {
            part(Kind::OpenTank, &[("level", dice.between(0.2, 25.0), "m")])
        } else {
            let static_bar = dice.between(1.0, 6.0);
            let measured = [
                ("static_pressure", static_bar, "bar"),
                ("measured_pressure", static_bar * dice.between(0.3, 0.95), "bar"),
                ("measured_flow", dice.between(8.0, 40.0), "lpm"),
            ];
            let known = if dice.chance(0.8) { 3 } else { 1 };
            part(Kind::Supply, &measured[..known])
        };
        self.put(source, near, near);
    }

    fn outlet(&mut self, at: usize) {
        let node = if self.dice.chance(0.6) {
            let end = self.node(self.heights_m[at]);
            self.leg(at, end);
            end
        } else {
            at
        };
        let dice = &mut self.dice;
        let outlet = match dice.below(12) {
            0 => part(Kind::Head, &[("rated_flow", dice.between(1.0, 4.0), "gpm"), ("rated_flow_pressure", 30.0, "psi")]),
            1 => part(Kind::Head, &[("nozzle", dice.between(1.5, 5.0), "mm"), ("regulated", dice.between(0.5, 3.0), "bar")]),
            2 => {
                let size = dice.between(0.5, 1.5);
                let points =
                    [0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0].map(|bar: f64| (bar * 1e5, size * 1e-4 * bar.powf(0.45) + 1e-6));
                Part::new(Kind::Head).with_table(&points).expect("a table")
            }
            3 => {
                let rated = [("flow", dice.between(2.0, 60.0), "gph"), ("pressure", 15.0, "psi")];
                let how = if dice.chance(0.3) {
                    ("regulated", dice.between(0.5, 2.0), "bar")
                } else {
                    ("exponent", dice.between(0.05, 1.0), "")
                };
                part(Kind::Emitter, &[rated[0], rated[1], how])
            }
            4 => part(Kind::Leak, &[("flow", dice.between(0.5, 30.0), "gph"), ("pressure", 40.0, "psi")]),
            5 => part(Kind::Demand, &[("flow", dice.between(0.05, 0.8), "gpm")]),
            6 => part(Kind::Relief, &[("set", dice.between(0.8, 5.0), "bar")]),
            7 => part(
                Kind::Dripline,
                &[
                    ("length", dice.between(3.0, 5.0), "m"),
                    ("spacing", dice.between(0.4, 1.0), "m"),
                    ("flow", dice.between(1.0, 30.0), "gph"),
                    ("exponent", if dice.chance(0.5) { 0.5 } else { dice.between(0.05, 1.0) }, ""),
                ],
            ),
            8 => part(
                Kind::Soaker,
                &[
                    ("length", dice.between(5.0, 60.0), "m"),
                    ("diameter", dice.between(8.0, 16.0), "mm"),
                    ("flow", dice.between(0.5, 6.0), "gpm"),
                    ("pressure", 15.0, "psi"),
                    ("exponent", if dice.chance(0.5) { 0.5 } else { dice.between(0.05, 1.0) }, ""),
                    ("outlets", (2 + dice.below(9)) as f64, ""),
                ],
            ),
            _ => {
                let wear = dice.between(0.9, 1.3);
                part(Kind::Head, &[("nozzle", dice.between(1.5, 6.0), "mm"), ("wear", wear, "")])
            }
        };
        self.put(outlet, node, node);
        let beside = match self.dice.below(8) {
            0 => Some(part(Kind::Point, &[])),
            1 => Some(part(Kind::PressureTank, &[("volume", 20.0, "L"), ("precharge", 1.5, "bar")])),
            2 => Some(part(Kind::ExpansionTank, &[("volume", 8.0, "L"), ("precharge", 2.5, "bar")])),
            3 => Some(part(Kind::DrainValve, &[])),
            _ => None,
        };
        if let Some(beside) = beside {
            self.put(beside, node, node);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hosewright::parts::Start;

    #[test]
    fn every_kind_of_part_comes_up_but_what_only_starts_and_stops_a_booster() {
        let mut seen = std::collections::HashSet::new();
        for seed in 0..400 {
            garden(seed).parts().iter().for_each(|part| {
                seen.insert(part.kind());
            });
        }
        let changes_flow = |kind: &&Kind| matches!(kind.spec().traits.starts, None | Some(Start::Speed));
        for kind in Kind::ALL.iter().filter(changes_flow) {
            assert!(seen.contains(kind), "no {} in 400 gardens", kind.spec().word);
        }
    }
}
