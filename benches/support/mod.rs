//! Short ways to make gardens for the benches.
#![allow(dead_code)]

use hosewright::garden::Garden;
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, find_unit};
use std::sync::Mutex;
use std::time::{Duration, Instant};

pub const PSI: f64 = 6_894.757_293_168;
pub const GPM: f64 = 3.785_411_784e-3 / 60.0;
pub const FT: f64 = 0.3048;

/// A quantity in a unit.
pub fn q(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).expect("a unit of the benches"))
}

/// A part of a kind, named, with numbers.
pub fn build(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Part {
    Part::of_words(kind, Some(name), numbers).expect("a sound part")
}

/// The same as a line of one part.
pub fn part(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Garden {
    Garden::of(build(kind, name, numbers))
}

/// Parts in series.
pub fn line(parts: &[Garden]) -> Garden {
    parts[1..].iter().fold(parts[0].clone(), |line, next| line.then(next).expect("joins"))
}

/// A booster with a curve of flows in gpm and rises in psi.
pub fn pump(name: &str, points: &[(f64, f64)]) -> Part {
    let curve: Vec<(f64, f64)> = points.iter().map(|(gpm, psi)| (gpm * GPM, psi * PSI)).collect();
    Part::new(Kind::Booster).named(name).and_then(|pump| pump.with_curve(&curve)).expect("a pump")
}

/// Parts and their joints in the making.
#[derive(Default)]
pub struct Plan {
    parts: Vec<Part>,
    joints: Vec<(usize, usize)>,
}

impl Plan {
    pub fn fed(static_psi: f64, measured_psi: f64, gpm: f64) -> Plan {
        let mut plan = Plan::default();
        let numbers = [
            ("static_pressure", q(static_psi, "psi")),
            ("measured_pressure", q(measured_psi, "psi")),
            ("measured_flow", q(gpm, "gpm")),
        ];
        plan.add(build(Kind::Supply, "tap", &numbers), 0, 0);
        plan
    }

    pub fn add(&mut self, part: Part, from: usize, to: usize) {
        self.parts.push(part);
        self.joints.push((from, to));
    }

    pub fn hose(&mut self, name: &str, length_ft: f64, diameter_in: f64, from: usize, to: usize) {
        self.add(build(Kind::Hose, name, &[("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "in"))]), from, to);
    }

    pub fn head(&mut self, name: &str, diameter_in: f64, node: usize) {
        self.add(build(Kind::Head, name, &[("nozzle", q(diameter_in, "in"))]), node, node);
    }

    pub fn garden(self) -> Garden {
        Garden::from_joints(self.parts, &self.joints).expect("joins")
    }
}

/// Keeps the fastest time of an answer at each of several sizes, and tells when dropped how that has grown since the smallest one.
pub struct Growth {
    what: &'static str,
    size: usize,
    fastest: Duration,
}

/// What was measured so far: which answer, its size, and its fastest time in s.
static MEASURED: Mutex<Vec<(&'static str, usize, f64)>> = Mutex::new(Vec::new());

impl Growth {
    /// An answer by its name, at a size; sizes come in rising order.
    pub fn of(what: &'static str, size: usize) -> Growth {
        Growth { what, size, fastest: Duration::MAX }
    }

    /// Times one answer.
    pub fn time<T>(&mut self, answer: impl FnOnce() -> T) -> T {
        self.time_shared(1, answer)
    }

    /// Times so many answers of this size together.
    pub fn time_shared<T>(&mut self, answers: usize, answer: impl FnOnce() -> T) -> T {
        let start = Instant::now();
        let given = answer();
        self.fastest = self.fastest.min(start.elapsed() / answers as u32);
        given
    }
}

impl Drop for Growth {
    fn drop(&mut self) {
        if self.fastest == Duration::MAX {
            return;
        }
        let fastest_s = self.fastest.as_secs_f64();
        let mut measured = MEASURED.lock().expect("no bench panics in here");
        if let Some(&(_, size, smallest_s)) = measured.iter().find(|one| one.0 == self.what) {
            let exponent = (fastest_s / smallest_s).ln() / (self.size as f64 / size as f64).ln();
            println!("  as n^{exponent:.2} from {size} to {}", self.size);
        }
        measured.push((self.what, self.size, fastest_s));
    }
}

/// One tap, a feed hose, and three branches of valve, hose and head.
pub fn three_heads() -> Garden {
    let mut plan = Plan::fed(58.0, 44.0, 6.0);
    plan.hose("feed", 100.0, 0.75, 0, 1);
    for (index, (length, diameter, nozzle)) in
        [(40.0, 0.5, 0.125), (60.0, 0.625, 0.15), (80.0, 0.625, 0.11)].into_iter().enumerate()
    {
        let node = 2 + 2 * index;
        plan.add(build(Kind::Valve, &format!("v{index}"), &[]), 1, node);
        plan.hose(&format!("h{index}"), length, diameter, node, node + 1);
        plan.head(&format!("n{index}"), nozzle, node + 1);
    }
    plan.garden()
}

/// A trunk of hoses with a head behind a short hose at each of its nodes.
pub fn trunk(heads: usize) -> Garden {
    let mut plan = Plan::fed(70.0, 60.0, 40.0);
    for index in 0..heads {
        plan.hose(&format!("t{index}"), 10.0, 1.5, index, index + 1);
        plan.hose(&format!("h{index}"), 12.0, 0.5, index + 1, heads + 1 + index);
        plan.head(&format!("n{index}"), 0.06, heads + 1 + index);
    }
    plan.garden()
}
